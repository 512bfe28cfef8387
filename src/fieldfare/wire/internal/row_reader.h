// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string_view>

#include "fieldfare/wire/hearing_sink.h"
#include "fieldfare/wire/internal/lines.h"
#include "fieldfare/wire/internal/row_log.h"

namespace fieldfare::wire {

/// Reads the rows of one format off the front of a window of bytes.
class RowReader {
 public:
  explicit RowReader(RowLog& log) : log_{log} {}
  virtual ~RowReader() = default;
  RowReader(const RowReader&) = delete;
  RowReader& operator=(const RowReader&) = delete;

  /// Takes as many rows as are whole and returns the bytes they had; the caller
  /// keeps the rest and offers it again with more behind it. `last` says that
  /// no more will come. What is left is never more than kLongestRow bytes and a
  /// few, which bounds the memory.
  std::size_t take(std::string_view window, bool last, const HearingSink& sink);

 protected:
  /// Takes the row that begins with `line` (whole) at the front of `window`.
  /// Returns its bytes, 0 where more of them must be seen first.
  virtual std::size_t take_row(const Line& line, std::string_view window, bool last,
                               const HearingSink& sink) = 0;
  RowLog& log() { return log_; }

 private:
  std::size_t take_front(std::string_view window, bool last, const HearingSink& sink);
  std::size_t drop_line(const Line& line);

  RowLog& log_;
  bool dropping_ = false;  ///< within a line that is too long
};

}  // namespace fieldfare::wire
