// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/learn/internal/slots.h"
#include "fieldfare/learn/internal/text_cells.h"
#include "fieldfare/learn/internal/text_lines.h"

namespace fieldfare::learn {

/// Lines of text as a table of what they say.
struct TextTable {
  LineStyle style;
  bool is_worded = false;  ///< words and keys tell what a value is; else its column does
  SlotTable table;
  std::vector<std::size_t> report_lines;  ///< by report: index of its line
  std::string header;                     ///< the line that names the columns; empty: none
  std::size_t headers = 0;                ///< how often such a line comes
  std::size_t comments = 0;               ///< other lines that begin with #
  std::size_t unlike = 0;                 ///< lines of another kind, or damaged

  /// Where the values of the slots stand in a line; empty: not there.
  std::vector<std::string_view> values_in(std::string_view line) const;

  /// How to find each slot again.
  struct Finder {
    std::size_t column = 0;           ///< of columns
    std::string name;                 ///< of words and keys
    CellKind kind = CellKind::value;  ///< `token`: of words, what stands in `column`
    bool is_front = false;            ///< the number that the column begins with, behind `name`;
                                      ///< of words: the time that the line begins with
  };
  std::vector<Finder> finders;
};

/// Nothing where the lines have no shape in common.
std::optional<TextTable> text_table(const TextLines& lines);

}  // namespace fieldfare::learn
