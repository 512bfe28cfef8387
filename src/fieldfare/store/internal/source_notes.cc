// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/store/internal/source_notes.h"

#include <algorithm>
#include <utility>

#include "fieldfare/store/writer.h"

namespace fieldfare::store {
namespace {

std::int64_t id_of_source(Database& database, std::string_view name) {
  Statement find = database.prepare("SELECT id FROM source WHERE name = ?");
  find.bind(1, name);
  if (find.step()) return find.integer(0);
  Statement add = database.prepare("INSERT INTO source(name) VALUES(?)");
  add.bind(1, name);
  add.run();
  return database.integer("SELECT last_insert_rowid()");
}

void store_reasons(Database& database, std::int64_t source, std::string_view kind,
                   const wire::StreamLedger::ByReason& counts) {
  Statement put = database.prepare(
      "INSERT INTO source_reason(source, kind, reason, count) VALUES(?, ?, ?, ?)"
      " ON CONFLICT(source, kind, reason) DO UPDATE SET count = excluded.count");
  for (const auto& [reason, count] : counts) {
    put.bind(1, source);
    put.bind(2, kind);
    put.bind(3, reason);
    put.bind(4, static_cast<std::int64_t>(count));
    put.run();
  }
}

void store_totals(Database& database, std::int64_t source, SourceTotals totals) {
  std::string sql = "UPDATE source SET endpoint = ?, at_ns = ?";
  for (const TotalsColumn& column : totals_columns())
    sql += std::string{", "} + column.name + " = ?";
  Statement put = database.prepare(sql + " WHERE id = ?");
  int parameter = 0;
  put.bind(++parameter, totals.endpoint);
  put.bind(++parameter, totals.at.ns);
  for (const TotalsColumn& column : totals_columns()) {
    put.bind(++parameter, static_cast<std::int64_t>(column.of(totals)));
  }
  put.bind(++parameter, source);
  put.run();

  Statement forget = database.prepare("DELETE FROM source_reason WHERE source = ?");
  forget.bind(1, source);
  forget.run();
  store_reasons(database, source, "unread", totals.ledger.unread_by_reason);
  store_reasons(database, source, "lost", totals.ledger.lost_by_reason);
}

void store_marks(Database& database, std::int64_t source, std::span<const std::uint64_t> marks) {
  const std::string octets = octets_of_marks(marks);
  Statement put = database.prepare(
      "INSERT INTO source_mark(source, marks) VALUES(?, ?)"
      " ON CONFLICT(source) DO UPDATE SET marks = excluded.marks");
  put.bind(1, source);
  put.bind_bytes(2, octets);
  put.run();
}

void store_unread(Database& database, std::int64_t source, const std::deque<UnreadFrame>& frames) {
  Statement add = database.prepare(
      "INSERT INTO unread(source, at_ns, reason, what, octets, length) VALUES(?, ?, ?, ?, ?, ?)");
  for (const UnreadFrame& frame : frames) {
    add.bind(1, source);
    add.bind(2, frame.at.ns);
    add.bind(3, frame.reason);
    add.bind(4, frame.what);
    add.bind_bytes(5, frame.octets);
    add.bind(6, static_cast<std::int64_t>(frame.length));
    add.run();
  }
  Statement forget = database.prepare(
      "DELETE FROM unread WHERE source = ?1 AND id <="
      " (SELECT id FROM unread WHERE source = ?1 ORDER BY id DESC LIMIT 1 OFFSET ?2)");
  forget.bind(1, source);
  forget.bind(2, static_cast<std::int64_t>(UnreadFrame::kMostOfSource));
  forget.run();
}

}  // namespace

std::string octets_of_marks(std::span<const std::uint64_t> marks) {
  std::string octets;
  octets.reserve(marks.size() * 8);
  for (const std::uint64_t mark : marks) {
    for (unsigned shift = 0; shift < 64; shift += 8) {
      octets += static_cast<char>(mark >> shift & 0xff);
    }
  }
  return octets;
}

std::vector<std::uint64_t> marks_of_octets(std::string_view octets) {
  std::vector<std::uint64_t> marks(octets.size() / 8);
  for (std::size_t i = 0; i < marks.size() * 8; ++i) {
    marks[i / 8] |= std::uint64_t{static_cast<unsigned char>(octets[i])} << (i % 8 * 8);
  }
  return marks;
}

std::span<const TotalsColumn> totals_columns() {
  static constexpr TotalsColumn kColumns[] = {
      {"bytes_fed", [](SourceTotals& of) -> auto& { return of.ledger.bytes_fed; }},
      {"bytes_in_frames", [](SourceTotals& of) -> auto& { return of.ledger.bytes_in_frames; }},
      {"bytes_lost", [](SourceTotals& of) -> auto& { return of.ledger.bytes_lost; }},
      {"bytes_pending", [](SourceTotals& of) -> auto& { return of.ledger.bytes_pending; }},
      {"frames", [](SourceTotals& of) -> auto& { return of.ledger.frames; }},
      {"frames_read", [](SourceTotals& of) -> auto& { return of.ledger.frames_read; }},
      {"frames_unread", [](SourceTotals& of) -> auto& { return of.ledger.frames_unread; }},
      {"frames_foreign", [](SourceTotals& of) -> auto& { return of.ledger.frames_foreign; }},
      {"reports", [](SourceTotals& of) -> auto& { return of.ledger.reports; }},
      {"hearings", [](SourceTotals& of) -> auto& { return of.ledger.hearings; }},
      {"reports_refused", [](SourceTotals& of) -> auto& { return of.ledger.reports_refused; }},
      {"repeated", [](SourceTotals& of) -> auto& { return of.repeated; }},
      {"dropped_bytes", [](SourceTotals& of) -> auto& { return of.dropped_bytes; }},
  };
  return kColumns;
}

SourceNotes::OfSource& SourceNotes::of(std::string_view source) {
  const auto known = by_source_.find(source);
  return known != by_source_.end() ? known->second : by_source_[std::string{source}];
}

void SourceNotes::listened(std::string_view source, Instant from, Instant to) {
  std::deque<Stretch>& stretches = of(source).stretches;
  to = std::max(from, to);
  if (!stretches.empty() && stretches.back().from == from) {
    stretches.back().to = std::max(stretches.back().to, to);
    return;
  }
  if (stretches.size() >= Writer::kMostStretches) stretches.pop_front();
  stretches.push_back({from, to});
}

void SourceNotes::remember(std::string_view source, std::span<const std::uint64_t> marks) {
  const std::span newest = marks.last(std::min(marks.size(), Writer::kMostMarks));
  of(source).marks = std::vector<std::uint64_t>{newest.begin(), newest.end()};
}

void SourceNotes::total(const SourceTotals& totals) { of(totals.source).totals = totals; }

void SourceNotes::keep(UnreadFrame frame) {
  frame.length = std::max(frame.length, std::uint64_t{frame.octets.size()});
  if (frame.octets.size() > UnreadFrame::kLongest) frame.octets.resize(UnreadFrame::kLongest);
  for (std::string* text : {&frame.reason, &frame.what}) {
    if (text->size() > UnreadFrame::kLongestText) text->resize(UnreadFrame::kLongestText);
  }
  std::deque<UnreadFrame>& unread = of(frame.source).unread;
  if (unread.size() >= UnreadFrame::kMostOfSource) unread.pop_front();
  unread.push_back(std::move(frame));
}

void SourceNotes::came_through(fleet::ReceiverIndex receiver, std::string_view source) {
  const auto index = static_cast<std::size_t>(receiver);
  if (way_of_receiver_.size() <= index) way_of_receiver_.resize(index + 1);
  Way& way = way_of_receiver_[index];
  if (way.source == source) return;
  way = {std::string{source}, false};
  ways_changed_ = true;
}

void SourceNotes::store(Database& database, Names& names, const fleet::Labels& labels) const {
  for (const auto& [name, notes] : by_source_) {
    const std::int64_t source = id_of_source(database, name);
    Statement put = database.prepare(
        "INSERT INTO listening(source, from_ns, to_ns) VALUES(?, ?, ?)"
        " ON CONFLICT(source, from_ns) DO UPDATE SET to_ns = max(to_ns, excluded.to_ns)");
    for (const Stretch& stretch : notes.stretches) {
      put.bind(1, source);
      put.bind(2, stretch.from.ns);
      put.bind(3, stretch.to.ns);
      put.run();
    }
    if (notes.marks) store_marks(database, source, *notes.marks);
    if (notes.totals) store_totals(database, source, *notes.totals);
    if (!notes.unread.empty()) store_unread(database, source, notes.unread);
  }
  if (!ways_changed_) return;
  Statement lead = database.prepare("UPDATE receiver SET source = ? WHERE id = ?");
  for (std::size_t index = 0; index < way_of_receiver_.size(); ++index) {
    const Way& way = way_of_receiver_[index];
    if (way.source.empty() || way.stored) continue;
    const fleet::ReceiverIndex receiver{static_cast<std::uint32_t>(index)};
    lead.bind(1, id_of_source(database, way.source));
    lead.bind(2, std::int64_t{names.id_of(database, labels, receiver)});
    lead.run();
  }
}

void SourceNotes::stored() {
  by_source_.clear();
  for (Way& way : way_of_receiver_) way.stored = true;
  ways_changed_ = false;
}

void SourceNotes::discard() {
  by_source_.clear();
  for (Way& way : way_of_receiver_) {
    if (!way.stored) way = {};
  }
  ways_changed_ = false;
}

}  // namespace fieldfare::store
