// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>

#include "fieldfare/source/ports.h"

namespace fieldfare::source {

/// The port that a receiver which was just plugged in is most likely at.
struct LikelyPort {
  std::size_t index = 0;
  std::string why;  ///< for people
};

/// By rule of thumb (common practice): a receiver comes with a USB plug, and its port is one that
/// this user may open and that no other program holds. Nothing where there is no
/// port at all.
std::optional<LikelyPort> likeliest_port(std::span<const Port> ports);

}  // namespace fieldfare::source
