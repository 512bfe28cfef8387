// SPDX-License-Identifier: Apache-2.0
// Store::scan: packed stretches where there are any, rows of the table elsewhere.

#include <algorithm>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_set>
#include <vector>

#include "fieldfare/store/internal/sheets.h"
#include "fieldfare/store/internal/store_impl.h"
#include "fieldfare/store/internal/stretch.h"

namespace fieldfare::store {
namespace {

/// Hands over the hearings of one scan, under the indexes of its labels.
class Passage {
 public:
  Passage(Database& database, const Names& names, const Scan& scan, fleet::Labels& labels,
          const Store::Take& take)
      : names_{names}, scan_{scan}, take_{take} {
    if (scan.with_readings) readings_.emplace(database, labels);
    for (const fleet::NodeIndex node : scan.nodes) {
      const std::vector<std::uint32_t> ids = names.ids(node);
      wanted_.insert(ids.begin(), ids.end());
    }
  }

  const std::unordered_set<std::uint32_t>* wanted() const {
    return scan_.nodes.empty() ? nullptr : &wanted_;
  }

  /// Before the hearings of a range of arrivals are handed over.
  void begin(std::int64_t first_arrival, std::int64_t last_arrival) {
    if (readings_) readings_->load(first_arrival, last_arrival);
  }

  void hand_over(const Row& row) {
    if (row.arrival <= scan_.after_arrival || row.arrival > scan_.up_to_arrival) return;
    stored_.arrival = row.arrival;
    fill_hearing(row, stored_.hearing);
    stored_.hearing.node = names_.node(row.node);
    stored_.hearing.receiver = names_.receiver(row.receiver);
    if (readings_) stored_.hearing.readings = readings_->of(row.arrival);
    take_(stored_);
  }

 private:
  const Names& names_;
  const Scan& scan_;
  const Store::Take& take_;
  std::optional<ReadingsReader> readings_;
  std::unordered_set<std::uint32_t> wanted_;
  StoredHearing stored_;  ///< filled anew for each
};

void scan_stretch(std::string_view packed, Passage& passage) {
  StretchReader reader{packed, passage.wanted()};
  Row row;
  while (reader.next(row)) passage.hand_over(row);
  if (reader.damaged()) {
    throw Fault{SQLITE_CORRUPT, "a packed stretch of hearings is damaged",
                "its rows are in the table; run: sqlite3 FILE 'DELETE FROM stretch'"};
  }
}

/// Arrivals from `first` to `last`, in portions so that readings can be fetched
/// for each.
void scan_rows(Statement& query, std::int64_t first, std::int64_t last, Passage& passage) {
  for (std::int64_t begin = first; begin <= last; begin += kStretchRows) {
    const std::int64_t end = std::min(last, begin + kStretchRows - 1);
    passage.begin(begin, end);
    query.bind(1, begin);
    query.bind(2, end);
    while (query.step()) {
      const Row row = read_row(query);
      if (!passage.wanted() || passage.wanted()->contains(row.node)) passage.hand_over(row);
    }
  }
}

}  // namespace

Row read_row(const Statement& statement) {
  Row row;
  row.arrival = statement.integer(0);
  row.node = static_cast<std::uint32_t>(statement.integer(1));
  row.receiver = static_cast<std::uint32_t>(statement.integer(2));
  row.time_ns = statement.integer(3);
  if (!statement.is_null(4)) {
    row.sequence = static_cast<std::uint64_t>(statement.integer(4));
    row.has |= Row::kHasSequence;
  }
  if (!statement.is_null(5)) {
    row.arrived_ns = statement.integer(5);
    row.has |= Row::kHasArrivedAt;
  }
  if (statement.integer(6) != 0) row.has |= Row::kImplausible;
  if (statement.integer(7) != 0) row.has |= Row::kBatched;
  for (unsigned i = 0; i < Row::kMeasures; ++i) {
    const int column = 8 + static_cast<int>(i);
    if (statement.is_null(column)) continue;
    row.measures[i] = statement.real(column);
    row.measured = static_cast<std::uint8_t>(row.measured | 1U << i);
  }
  return row;
}

Result<std::int64_t, Complaint> Store::scan(const Scan& scan, fleet::Labels& labels,
                                            const Take& take) {
  return impl_->guarded<std::int64_t>([&] {
    Database& database = impl_->database;
    const Transaction transaction{database, Transaction::Kind::read};
    impl_->names.load(database, labels);
    Passage passage{database, impl_->names, scan, labels, take};
    const std::int64_t stored = database.integer("SELECT max(arrival) FROM hearing");
    const std::int64_t last = std::max(scan.after_arrival, std::min(stored, scan.up_to_arrival));

    Statement rows =
        database.prepare(std::string{"SELECT "} + kHearingColumns +
                         " FROM hearing WHERE arrival BETWEEN ? AND ? ORDER BY arrival");
    Statement stretches =
        database.prepare("SELECT number, packed FROM stretch WHERE number >= ? ORDER BY number");
    std::int64_t next = scan.after_arrival + 1;
    stretches.bind(1, scan.after_arrival / kStretchRows);
    while (next <= last && stretches.step()) {
      const std::int64_t first_packed = stretches.integer(0) * kStretchRows + 1;
      scan_rows(rows, next, first_packed - 1, passage);
      next = first_packed + kStretchRows;
      passage.begin(first_packed, next - 1);
      scan_stretch(stretches.bytes(1), passage);
    }
    scan_rows(rows, next, last, passage);
    return last;
  });
}

Result<std::int64_t, Complaint> Store::scan_node(fleet::NodeIndex node, fleet::Labels& labels,
                                                 const Take& take) {
  return scan({.nodes = {&node, 1}}, labels, take);
}

}  // namespace fieldfare::store
