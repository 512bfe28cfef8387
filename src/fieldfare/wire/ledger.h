// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/base/complaint.h"

namespace fieldfare::wire {

/// A row that gave no hearing, and why.
struct SkippedRow {
  Place place;                    ///< the row's first line; column in bytes, 0 for the whole row
  std::string reason_code;        ///< stable, for programs: `bad-number`
  std::string what;               ///< for people
  std::string expected;           ///< the remedy
  std::string excerpt;            ///< the row's beginning, made safe to print by excerpt()
  std::uint64_t rows_before = 0;  ///< read before it, skipped or not; Ledger fills it in

  Complaint complaint() const { return {place, what, expected}; }
};

/// What became of every data row that was seen; nothing is dropped unsaid.
///
/// Invariant: rows_read() == rows_accepted() + rows_skipped(), and the counts per
/// reason add up to rows_skipped(). The first rows skipped are kept in full, up
/// to a bound that keeps a hostile file from filling the memory; the rest are
/// counted.
class Ledger {
 public:
  static constexpr std::size_t kMostQuoted = 1000;
  using Counts = std::map<std::string, std::uint64_t, std::less<>>;

  explicit Ledger(std::size_t most_quoted = kMostQuoted) : most_quoted_{most_quoted} {}

  void accept() { ++accepted_; }
  /// Counts the row, and keeps it while there is room.
  void skip(SkippedRow row);
  /// Counts a row that need not be described, as there is no room to keep it.
  void skip_unquoted(std::string_view reason_code) { count(reason_code); }
  /// Counts a row that could be read but has no hearing to give: it is skipped, but
  /// not unreadable.
  void set_aside(std::string_view reason_code) {
    count(reason_code);
    ++set_aside_;
  }
  bool has_room() const { return quoted_.size() < most_quoted_; }

  std::uint64_t rows_read() const { return accepted_ + skipped_; }
  std::uint64_t rows_accepted() const { return accepted_; }
  std::uint64_t rows_skipped() const { return skipped_; }
  std::uint64_t rows_set_aside() const { return set_aside_; }
  std::uint64_t rows_unreadable() const { return skipped_ - set_aside_; }
  const Counts& skipped_by_reason() const { return by_reason_; }
  /// The first rows skipped, in the order of reading.
  const std::vector<SkippedRow>& quoted() const { return quoted_; }

  /// Adds the rows of another ledger as if they had been read after these.
  void merge(const Ledger& later);

 private:
  void count(std::string_view reason_code, std::uint64_t rows = 1);

  std::size_t most_quoted_;
  std::uint64_t accepted_ = 0;
  std::uint64_t skipped_ = 0;
  std::uint64_t set_aside_ = 0;  ///< of those skipped
  Counts by_reason_;
  std::vector<SkippedRow> quoted_;
};

}  // namespace fieldfare::wire
