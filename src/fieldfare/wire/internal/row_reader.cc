// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/row_reader.h"

namespace fieldfare::wire {

std::size_t RowReader::take(std::string_view window, bool last, const HearingSink& sink) {
  std::size_t taken = 0;
  while (taken < window.size() && !log_.fatal()) {
    const std::size_t size = take_front(window.substr(taken), last, sink);
    if (size == 0) break;
    taken += size;
  }
  return taken;
}

std::size_t RowReader::take_front(std::string_view window, bool last, const HearingSink& sink) {
  const Line line = first_line(window, last);
  if (dropping_) return drop_line(line);
  switch (line.kind) {
    case Line::Kind::partial:
      return 0;
    case Line::Kind::too_long:
      log_.skip({Trouble::too_long, window.substr(0, kLongestRow), Fault::kWholeRow, {}, {}});
      return drop_line(line);
    case Line::Kind::whole:
      break;
  }
  return take_row(line, window, last, sink);
}

std::size_t RowReader::drop_line(const Line& line) {
  dropping_ = !line.ends;
  if (line.ends) log_.next_lines(1);
  return line.size;
}

}  // namespace fieldfare::wire
