// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <string_view>
#include <vector>

#include "fieldfare/store/store.h"

namespace fieldfare::store {

/// A sheet as one Writer numbers it.
enum class SheetIndex : std::uint32_t {};

struct Committed {
  std::int64_t rows = 0;
  std::int64_t last_arrival = 0;
  std::int64_t import_id = 0;  ///< of the import recorded with these rows, else 0
};

/// Takes hearings into a store that was opened for writing and outlives it.
///
/// append() collects, commit() stores all that was collected or nothing of it.
/// When commit() has returned without a complaint, the hearings survive a power
/// cut. When it complains they are still collected: try again, or discard().
class Writer {
 public:
  /// Nodes without a sheet.
  static constexpr SheetIndex kUnsheeted{0};
  /// Beyond this append() complains: the disk does not keep up.
  static constexpr std::size_t kMostPending = 200'000;

  explicit Writer(Store& store);
  ~Writer();
  Writer(Writer&&) noexcept;
  Writer& operator=(Writer&&) noexcept;
  Writer(const Writer&) = delete;
  Writer& operator=(const Writer&) = delete;

  /// The table for the readings of a kind of node; made when something goes in.
  Result<SheetIndex, Complaint> sheet(std::string_view name);

  /// Collects a hearing with its readings, which are copied. A repeated hearing is
  /// kept too. Complains where too much is pending, or where a sheet has too many
  /// fields; the hearing is then not taken.
  Outcome append(const fleet::Hearing& hearing, const fleet::Labels& labels,
                 SheetIndex sheet = kUnsheeted);

  /// Notes how far a file was taken, in the same commit as its rows. The counts
  /// are totals of the import, `skipped` are the rows that were skipped since the
  /// last time; its id is ignored. `head`: as for Store::find_import().
  void record(const Import& import, std::string_view head, std::vector<SkippedRow> skipped);

  std::size_t pending() const;

  Result<Committed, Complaint> commit(const fleet::Labels& labels);

  /// Drops what was collected.
  void discard();

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace fieldfare::store
