// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/wire/internal/trouble.h"

namespace fieldfare::wire {

struct Cell {
  std::string_view text;   ///< without quotes; valid while the row's bytes and its Split are
  std::size_t offset = 0;  ///< of the cell's first byte in the row
};

/// Splits a line (without its end) at its commas; the fast way for lines that
/// hold nothing but printable ASCII and no quote, which is nearly all there are.
/// Nothing for any other line: split_row() judges it. Returns how many cells
/// there are; those that `cells` has no room for are counted only.
std::optional<std::size_t> split_plain(std::string_view line, std::span<Cell> cells);

/// A row taken apart as RFC 4180 section 2 says, quotes and all.
struct Split {
  enum class State : unsigned char {
    complete,
    open,      ///< the row does not end within the window
    malformed  ///< `trouble` at `offset`
  };
  State state = State::complete;
  std::size_t size = 0;       ///< bytes of the row with the end of its last line
  std::size_t text_size = 0;  ///< without it
  Trouble trouble = Trouble::none;
  std::size_t offset = 0;  ///< of the trouble, or of the quote that stays open
  std::vector<Cell> cells;
  std::string unquoted;  ///< what cells with doubled quotes refer to
};

/// Splits the row at the front of `window`. `last` says that nothing follows
/// the window, so that its end ends the row. The answer, unless it is `open`,
/// does not depend on how much of what follows is already in the window.
void split_row(std::string_view window, bool last, Split& split);

}  // namespace fieldfare::wire
