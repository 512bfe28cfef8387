// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/fleet/labels.h"
#include "fieldfare/wire/internal/cells.h"
#include "fieldfare/wire/internal/row_builder.h"
#include "fieldfare/wire/internal/row_reader.h"

namespace fieldfare::wire {

/// Reads CSV. The first row names the columns; a row equal to it is passed over
/// wherever it comes again, so that files may be joined end to end.
///
/// Where quotes make a row of several lines that does not fit the header, its
/// first line alone is given up: the quote was most likely damage, and the rows
/// that it swallowed are whole.
class CsvRows : public RowReader {
 public:
  CsvRows(fleet::Labels& labels, RowLog& log);

 protected:
  std::size_t take_row(const Line& line, std::string_view window, bool last,
                       const HearingSink& sink) override;

 private:
  std::size_t take_header(const Line& line);
  void name_columns(std::string_view row);
  void require(std::string_view name);
  bool is_header(std::string_view line) const;
  std::size_t take_careful(const Line& line, std::string_view window, bool last,
                           const HearingSink& sink);
  std::size_t give_up_line(const Line& line, const Fault& fault);
  Fault build(std::string_view row, std::span<const Cell> cells);
  Fault blame(Trouble trouble, std::string_view row, std::span<const Cell> cells,
              std::size_t column) const;

  fleet::Labels& labels_;
  RowBuilder builder_;
  std::string header_;  ///< its text, without the end of the line; empty until seen
  std::vector<Column> columns_;
  std::vector<Cell> cells_;  ///< room for one row
  Split split_;
};

}  // namespace fieldfare::wire
