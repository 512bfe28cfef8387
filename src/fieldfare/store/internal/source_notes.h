// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <deque>
#include <functional>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/fleet/labels.h"
#include "fieldfare/store/internal/database.h"
#include "fieldfare/store/internal/names.h"
#include "fieldfare/store/records.h"

namespace fieldfare::store {

/// What a Writer was told of sources and has yet to store. Bounded for each source,
/// and there are as many as the site has.
class SourceNotes {
 public:
  void listened(std::string_view source, Instant from, Instant to);
  void remember(std::string_view source, std::span<const std::uint64_t> marks);
  void total(const SourceTotals& totals);
  void keep(UnreadFrame frame);
  void came_through(fleet::ReceiverIndex receiver, std::string_view source);

  /// Inside a write transaction. The notes stay until it is known that it went
  /// through: stored() or discard().
  void store(Database& database, Names& names, const fleet::Labels& labels) const;
  void stored();
  void discard();

 private:
  struct Stretch {
    Instant from;
    Instant to;
  };
  struct OfSource {
    std::deque<Stretch> stretches;
    std::optional<std::vector<std::uint64_t>> marks;
    std::optional<SourceTotals> totals;
    std::deque<UnreadFrame> unread;
  };
  struct Way {
    std::string source;
    bool stored = false;
  };

  OfSource& of(std::string_view source);

  std::map<std::string, OfSource, std::less<>> by_source_;
  std::vector<Way> way_of_receiver_;  ///< by ReceiverIndex; an empty source: none was told
  bool ways_changed_ = false;
};

/// As `marks` stand in a column: eight octets each, the low one first.
std::string octets_of_marks(std::span<const std::uint64_t> marks);
std::vector<std::uint64_t> marks_of_octets(std::string_view octets);

/// Counts of a ledger and the columns of `source` that hold them.
struct TotalsColumn {
  const char* name;
  std::uint64_t& (*of)(SourceTotals&);
};
std::span<const TotalsColumn> totals_columns();

}  // namespace fieldfare::store
