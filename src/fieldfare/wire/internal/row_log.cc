// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/row_log.h"

#include <fmt/format.h>

#include "fieldfare/wire/excerpt.h"

namespace fieldfare::wire {
namespace {

constexpr std::size_t kLongestValueShown = 40;

/// The column of a place in the row's first line; 0 for places further down and
/// for the row as a whole.
std::size_t column_of(const Fault& fault) {
  if (fault.offset == Fault::kWholeRow || fault.offset >= fault.row.find('\n')) return 0;
  return fault.offset + 1;
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
  const Place place{file_name_, line_, column_of(fault)};
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
