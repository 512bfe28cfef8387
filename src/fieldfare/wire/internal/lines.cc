// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/lines.h"

#include <cstring>

#include "fieldfare/wire/internal/row_log.h"

namespace fieldfare::wire {

Line first_line(std::string_view window, bool last) {
  if (window.empty()) return {};
  const void* const found = std::memchr(window.data(), '\n', window.size());
  const std::size_t length =
      found == nullptr ? window.size()
                       : static_cast<std::size_t>(static_cast<const char*>(found) - window.data());
  Line line;
  line.ends = found != nullptr || last;
  line.size = found == nullptr ? length : length + 1;
  if (length > kLongestRow) {
    line.kind = Line::Kind::too_long;
  } else if (line.ends) {
    line.kind = Line::Kind::whole;
    line.text = window.substr(0, length);
    if (line.text.ends_with('\r')) line.text.remove_suffix(1);
  }
  return line;
}

bool is_blank(std::string_view line) {
  for (const char c : line) {
    if (c != ' ' && c != '\t') return false;
  }
  return true;
}

}  // namespace fieldfare::wire
