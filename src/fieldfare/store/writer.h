// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
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
/// append() and its like collect, commit() stores all that was collected or nothing
/// of it. When commit() has returned without a complaint, it survives a power cut. When it
/// complains they are still collected: try again, or discard().
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

  /// What is told of sources is stored by the next commit too, in the transaction
  /// of its hearings; one without hearings will do. Names are those of the site.
  ///
  /// Listened from `from` on without a break, and still at `to`: lengthens the
  /// stretch that began at `from`, or begins it. While commits fail, at most
  /// kMostStretches of a source wait, the newest.
  void listened(std::string_view source, Instant from, Instant to);
  static constexpr std::size_t kMostStretches = 10'000;
  /// Replaces the source's marks: the last kMostMarks of `marks` are kept.
  void remember(std::string_view source, std::span<const std::uint64_t> marks);
  static constexpr std::size_t kMostMarks = 1024;
  /// Replaces the source's totals.
  void total(const SourceTotals& totals);
  /// Adds to the source's unread frames, of which the newest are kept.
  void keep(UnreadFrame frame);
  /// The receiver's hearings come through this source now. Costs little where
  /// that is known, so it can be told with every hearing.
  void came_through(fleet::ReceiverIndex receiver, std::string_view source);

  /// Hearings that were collected.
  std::size_t pending() const;

  Result<Committed, Complaint> commit(const fleet::Labels& labels);

  /// Drops what was collected, of sources too.
  void discard();

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace fieldfare::store
