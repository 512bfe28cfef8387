// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/row_log.h"

#include <fmt/format.h>

#include <algorithm>

#include "fieldfare/wire/excerpt.h"

namespace fieldfare::wire {
namespace {

constexpr std::size_t kLongestValueShown = 40;

/// Line and column of a byte of a row that may span lines.
Place place_in(std::string_view row, std::size_t offset) {
  const std::string_view before = row.substr(0, offset);
  const auto lines = std::count(before.begin(), before.end(), '\n');
  const std::size_t line_start = lines == 0 ? 0 : before.rfind('\n') + 1;
  return {"", static_cast<std::size_t>(lines), offset - line_start + 1};
}

}  // namespace

void RowLog::skip(const Fault& fault) {
  if (ledger_.has_room()) {
    ledger_.skip(describe(fault));
  } else {
    ledger_.skip_unquoted(words_for(fault.trouble).code);
  }
}

SkippedRow RowLog::describe(const Fault& fault) const {
  const TroubleWords& words = words_for(fault.trouble);
  Place place;
  if (fault.offset != Fault::kWholeRow) place = place_in(fault.row, fault.offset);
  place.file = file_name_;
  place.line += line_;
  std::string what{words.what};
  if (!fault.column.empty()) {
    what = fmt::format("`{}` is `{}`: {}", excerpt(fault.column, kLongestValueShown),
                       excerpt(fault.value, kLongestValueShown), words.what);
  }
  return {place, std::string{words.code}, what, std::string{words.expected}, excerpt(fault.row)};
}

void RowLog::note(std::string what, std::string expected) {
  if (notes_.size() < kMostNotes) {
    notes_.push_back({{file_name_, line_, 0}, std::move(what), std::move(expected)});
  }
}

void RowLog::give_up(std::size_t column, std::string what, std::string expected) {
  fatal_ = Complaint{{file_name_, line_, column}, std::move(what), std::move(expected)};
}

}  // namespace fieldfare::wire
