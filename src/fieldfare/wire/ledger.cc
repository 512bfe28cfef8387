// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/ledger.h"

#include <utility>

namespace fieldfare::wire {

void Ledger::skip(SkippedRow row) {
  row.rows_before = rows_read();
  count(row.reason_code);
  if (has_room()) quoted_.push_back(std::move(row));
}

void Ledger::merge(const Ledger& later) {
  const std::uint64_t before = rows_read();
  accepted_ += later.accepted_;
  set_aside_ += later.set_aside_;
  for (const auto& [reason, rows] : later.by_reason_) count(reason, rows);
  for (const SkippedRow& row : later.quoted_) {
    if (!has_room()) break;
    quoted_.push_back(row);
    quoted_.back().rows_before += before;
  }
}

void Ledger::count(std::string_view reason_code, std::uint64_t rows) {
  skipped_ += rows;
  const auto known = by_reason_.find(reason_code);
  if (known != by_reason_.end()) {
    known->second += rows;
  } else {
    by_reason_.emplace(reason_code, rows);
  }
}

}  // namespace fieldfare::wire
