// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>

#include "fieldfare/base/instant.h"

namespace fieldfare::evidence {

/// What is known of a node before anything is heard. What is absent is
/// estimated from the hearings or left out.
struct NodeFacts {
  std::optional<std::uint8_t> sequence_bits;  ///< width of the counter, 1..32
  std::optional<Duration> interval;           ///< nominal report interval
  bool event_driven = false;  ///< reports when something happens: there is no beat to follow

  bool operator==(const NodeFacts&) const = default;
};

}  // namespace fieldfare::evidence
