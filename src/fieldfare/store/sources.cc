// SPDX-License-Identifier: Apache-2.0
// What a Store keeps of sources.

#include <algorithm>
#include <string>
#include <vector>

#include "fieldfare/store/internal/source_notes.h"
#include "fieldfare/store/internal/store_impl.h"

namespace fieldfare::store {

Result<std::vector<Listening>, Complaint> Store::listening() {
  return impl_->guarded<std::vector<Listening>>([&] {
    Statement query = impl_->database.prepare(
        "SELECT source.name, from_ns, to_ns FROM listening JOIN source ON source.id = source"
        " ORDER BY source.name, from_ns");
    std::vector<Listening> found;
    while (query.step()) {
      found.push_back({std::string{query.text(0)}, {query.integer(1)}, {query.integer(2)}});
    }
    return found;
  });
}

Result<std::vector<std::uint64_t>, Complaint> Store::marks(std::string_view source) {
  return impl_->guarded<std::vector<std::uint64_t>>([&] {
    Statement query = impl_->database.prepare(
        "SELECT marks FROM source_mark JOIN source ON source.id = source WHERE source.name = ?");
    query.bind(1, source);
    return query.step() ? marks_of_octets(query.bytes(0)) : std::vector<std::uint64_t>{};
  });
}

Result<std::vector<SourceTotals>, Complaint> Store::source_totals() {
  return impl_->guarded<std::vector<SourceTotals>>([&] {
    const Transaction transaction{impl_->database, Transaction::Kind::read};
    std::string sql = "SELECT name, endpoint, at_ns, id";
    for (const TotalsColumn& column : totals_columns()) sql += std::string{", "} + column.name;
    Statement query =
        impl_->database.prepare(sql + " FROM source WHERE at_ns IS NOT NULL ORDER BY name");
    Statement reasons =
        impl_->database.prepare("SELECT kind, reason, count FROM source_reason WHERE source = ?");
    std::vector<SourceTotals> found;
    while (query.step()) {
      SourceTotals& totals = found.emplace_back();
      totals.source = query.text(0);
      totals.endpoint = query.text(1);
      totals.at = {query.integer(2)};
      int column = 4;
      for (const TotalsColumn& count : totals_columns()) {
        count.of(totals) = static_cast<std::uint64_t>(query.integer(column++));
      }
      reasons.bind(1, query.integer(3));
      while (reasons.step()) {
        auto& counts = reasons.text(0) == "unread" ? totals.ledger.unread_by_reason
                                                   : totals.ledger.lost_by_reason;
        counts[std::string{reasons.text(1)}] = static_cast<std::uint64_t>(reasons.integer(2));
      }
    }
    return found;
  });
}

Result<std::vector<UnreadFrame>, Complaint> Store::unread(std::string_view source,
                                                          std::size_t most) {
  return impl_->guarded<std::vector<UnreadFrame>>([&] {
    Statement query = impl_->database.prepare(
        "SELECT at_ns, reason, what, octets, length FROM unread"
        " WHERE source = (SELECT id FROM source WHERE name = ?) ORDER BY id DESC LIMIT ?");
    query.bind(1, source);
    query.bind(2, static_cast<std::int64_t>(std::min(most, UnreadFrame::kMostOfSource)));
    std::vector<UnreadFrame> found;
    while (query.step()) {
      found.push_back({{query.integer(0)},
                       std::string{source},
                       std::string{query.text(1)},
                       std::string{query.text(2)},
                       std::string{query.bytes(3)},
                       static_cast<std::uint64_t>(query.integer(4))});
    }
    std::reverse(found.begin(), found.end());
    return found;
  });
}

Result<std::vector<ReceiverSource>, Complaint> Store::receiver_sources() {
  return impl_->guarded<std::vector<ReceiverSource>>([&] {
    Statement query = impl_->database.prepare(
        "SELECT receiver.name, source.name FROM receiver"
        " JOIN source ON source.id = receiver.source ORDER BY receiver.name");
    std::vector<ReceiverSource> found;
    while (query.step()) found.push_back({std::string{query.text(0)}, std::string{query.text(1)}});
    return found;
  });
}

}  // namespace fieldfare::store
