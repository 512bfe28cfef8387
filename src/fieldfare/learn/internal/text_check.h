// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/internal/text_lines.h"

namespace fieldfare::learn {

/// A check in hex digits at the end of lines.
struct TextCheck {
  fleet::CheckFacts facts;
  std::vector<bool> held;  ///< by line
  std::size_t count = 0;   ///< of these, those that hold
  double bits = 0;         ///< against chance, all that was tried being counted
};

/// Searches all kinds of check that a sheet can name, of 1, 2 and 4 octets, over the
/// line from its first or second character to the check, or to the sign before it.
/// Nothing where none holds for most lines and for more than chance, at likely or
/// better.
std::optional<TextCheck> search_text_check(const TextLines& lines);

}  // namespace fieldfare::learn
