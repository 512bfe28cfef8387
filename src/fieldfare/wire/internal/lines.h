// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string_view>

namespace fieldfare::wire {

/// The line at the front of a window.
struct Line {
  enum class Kind : unsigned char {
    whole,
    partial,  ///< its end is not in the window yet
    too_long  ///< longer than kLongestRow, its end seen or not
  };
  Kind kind = Kind::partial;
  std::string_view text;  ///< of a whole line, without its end
  std::size_t size = 0;   ///< bytes up to and with the line feed, as far as seen
  bool ends = false;      ///< the line feed, or the end of the log, is within `size`
};

/// `last` says that nothing follows the window, so that its end ends the line.
/// Lines end in LF or CR LF. Whether a line is too long depends on its bytes
/// alone, not on where the window ends.
Line first_line(std::string_view window, bool last);

/// Nothing but blanks and tabs: no row.
bool is_blank(std::string_view line);

/// The byte order mark that some programs put before UTF-8.
inline constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";

}  // namespace fieldfare::wire
