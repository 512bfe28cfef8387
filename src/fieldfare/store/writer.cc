// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/store/writer.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <unordered_set>
#include <utility>

#include "fieldfare/store/internal/sheets.h"
#include "fieldfare/store/internal/source_notes.h"
#include "fieldfare/store/internal/store_impl.h"
#include "fieldfare/store/internal/stretch.h"

namespace fieldfare::store {
namespace {

/// A hearing that waits: node and receiver still under the indexes of the labels.
struct Pending {
  Row row;
  std::uint32_t sheet = 0;
  std::uint32_t readings = 0;  ///< how many; they lie in the order of the hearings
};

struct PendingImport {
  Import import;
  std::string head;  ///< of what was taken
  std::vector<SkippedRow> skipped;
};

/// Fields that a sheet was given so far, so that it never gets more columns than
/// a table can have.
struct SheetFields {
  std::string sheet;
  std::unordered_set<std::string> names;
  std::vector<bool> seen;  ///< by FieldIndex

  bool admit(const std::string& name, std::size_t field) {
    if (field < seen.size() && seen[field]) return true;
    if (!names.contains(name)) {
      if (names.size() >= kMostFields) return false;
      names.insert(name);
    }
    if (seen.size() <= field) seen.resize(field + 1, false);
    return seen[field] = true;
  }
};

std::unordered_set<std::string> stored_fields(Database& database, std::string_view sheet) {
  Statement query = database.prepare(
      "SELECT field.name FROM field JOIN sheet ON sheet.id = field.sheet WHERE sheet.name = ?");
  query.bind(1, sheet);
  std::unordered_set<std::string> names;
  while (query.step()) names.emplace(query.text(0));
  return names;
}

/// The statements and what is known of the database between two commits, as long
/// as nobody else wrote and nothing failed.
class Session {
 public:
  explicit Session(Database& database)
      : insert_{database.prepare(std::string{"INSERT INTO hearing("} + kHearingColumns +
                                 ") VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)")},
        put_stretch_{database.prepare("INSERT INTO stretch(number, packed) VALUES(?, ?)")} {
    // Numbers that a scan has reported are not used again, even where their
    // hearings were removed.
    last_arrival_ = database.integer(
        "SELECT max(ifnull((SELECT max(arrival) FROM hearing), 0),"
        " ifnull((SELECT max(watermark) FROM checkpoint), 0),"
        " ifnull((SELECT max(number) + 1 FROM stretch), 0) * " +
        std::to_string(kStretchRows) + ")");
    pack_what_others_left(database);
  }

  std::int64_t last_arrival() const { return last_arrival_; }

  /// Gives the row its arrival and stores it.
  void insert(Row& row) {
    row.arrival = ++last_arrival_;
    int parameter = 0;
    insert_.bind(++parameter, row.arrival);
    insert_.bind(++parameter, std::int64_t{row.node});
    insert_.bind(++parameter, std::int64_t{row.receiver});
    insert_.bind(++parameter, row.time_ns);
    bind_if(row.has & Row::kHasSequence, ++parameter, static_cast<std::int64_t>(row.sequence));
    bind_if(row.has & Row::kHasArrivedAt, ++parameter, row.arrived_ns);
    bind_flags(row.has & (Row::kImplausible | Row::kBatched), parameter);
    for (unsigned i = 0; i < Row::kMeasures; ++i) {
      bind_if(row.measured >> i & 1U, ++parameter, row.measures[i]);
    }
    insert_.run();
    open_stretch_.push_back(row);
    if (row.arrival % kStretchRows == 0) close_stretch(row.arrival / kStretchRows - 1);
  }

  ReadingsTable& readings_table(Database& database, std::uint32_t index, std::string_view sheet) {
    const auto known = tables_.find(index);
    if (known != tables_.end()) return known->second;
    return tables_.emplace(index, ReadingsTable{database, sheet}).first->second;
  }

  void renew_views(Database& database) {
    for (auto& [index, table] : tables_) table.renew_view(database);
  }

 private:
  /// Binding costs as much as a tenth of an insert: what is NULL already stays.
  template <class Value>
  void bind_if(unsigned given, int parameter, Value value) {
    const unsigned bit = 1U << parameter;
    if (given) {
      insert_.bind(parameter, value);
      bound_ |= bit;
    } else if (bound_ & bit) {
      insert_.bind_null(parameter);
      bound_ &= ~bit;
    }
  }

  /// Likewise: they hardly ever change.
  void bind_flags(unsigned flags, int& parameter) {
    if (flags != flags_) {
      insert_.bind(parameter + 1, std::int64_t{(flags & Row::kImplausible) != 0});
      insert_.bind(parameter + 2, std::int64_t{(flags & Row::kBatched) != 0});
      flags_ = flags;
    }
    parameter += 2;
  }

  void close_stretch(std::int64_t number) {
    const std::string packed = pack_stretch(open_stretch_);
    put_stretch_.bind(1, number);
    put_stretch_.bind_bytes(2, packed);
    put_stretch_.run();
    open_stretch_.clear();
  }

  /// Takes up the hearings behind the last packed stretch: the open one, and whole
  /// ones where stretches were removed.
  void pack_what_others_left(Database& database) {
    std::int64_t number = database.integer("SELECT max(number) + 1 FROM stretch");
    Statement rows = database.prepare(std::string{"SELECT "} + kHearingColumns +
                                      " FROM hearing WHERE arrival > ? ORDER BY arrival");
    rows.bind(1, number * kStretchRows);
    while (rows.step()) {
      const Row row = read_row(rows);
      for (; row.arrival > (number + 1) * kStretchRows; ++number) close_stretch(number);
      open_stretch_.push_back(row);
    }
    for (; last_arrival_ >= (number + 1) * kStretchRows; ++number) close_stretch(number);
  }

  Statement insert_;
  Statement put_stretch_;
  unsigned bound_ = 0;    ///< bit n: parameter n of insert_ is not NULL
  unsigned flags_ = ~0U;  ///< that are bound; none yet
  std::int64_t last_arrival_ = 0;
  std::vector<Row> open_stretch_;
  std::map<std::uint32_t, ReadingsTable> tables_;
};

/// Returns the id of the import, which is that of an earlier one with this head.
std::int64_t store_import(Database& database, const PendingImport& pending) {
  const Import& import = pending.import;
  const std::string hash = sha256(pending.head);
  Statement put = database.prepare(
      "INSERT INTO import(head_bytes, head_sha256, name, size_bytes, bytes_taken, rows_taken,"
      " rows_skipped, at_ns) VALUES(?, ?, ?, ?, ?, ?, ?, ?)"
      " ON CONFLICT(head_bytes, head_sha256) DO UPDATE SET name = excluded.name,"
      " size_bytes = excluded.size_bytes, bytes_taken = excluded.bytes_taken,"
      " rows_taken = excluded.rows_taken, rows_skipped = excluded.rows_skipped,"
      " at_ns = excluded.at_ns");
  const auto bind = [&](int parameter, std::uint64_t count) {
    put.bind(parameter, static_cast<std::int64_t>(count));
  };
  bind(1, pending.head.size());
  put.bind_bytes(2, hash);
  put.bind(3, import.name);
  bind(4, import.size_bytes);
  bind(5, import.bytes_taken);
  bind(6, import.rows_taken);
  bind(7, import.rows_skipped);
  put.bind(8, import.at.ns);
  put.run();
  Statement find =
      database.prepare("SELECT id FROM import WHERE head_bytes = ? AND head_sha256 = ?");
  find.bind(1, static_cast<std::int64_t>(pending.head.size()));
  find.bind_bytes(2, hash);
  find.step();
  const std::int64_t id = find.integer(0);

  Statement count = database.prepare("SELECT count(*) FROM import_skip WHERE import = ?");
  count.bind(1, id);
  count.step();
  auto kept = static_cast<std::size_t>(count.integer(0));
  Statement add = database.prepare(
      "INSERT INTO import_skip(import, line, why, quote) VALUES(?, ?, ?, ?) ON CONFLICT DO "
      "NOTHING");
  for (const SkippedRow& row : pending.skipped) {
    if (kept++ >= Import::kMostSkips) break;
    add.bind(1, id);
    add.bind(2, static_cast<std::int64_t>(row.line));
    add.bind(3, row.why);
    add.bind(4, std::string_view{row.quote}.substr(0, Import::kLongestQuote));
    add.run();
  }
  return id;
}

}  // namespace

struct Writer::Impl {
  explicit Impl(Store::Impl& of_store) : store{of_store} {}

  Store::Impl& store;
  std::vector<Pending> rows;
  std::vector<fleet::Reading> readings;
  std::vector<SheetFields> sheets;  ///< by SheetIndex
  std::optional<PendingImport> import;
  SourceNotes sources;
  std::optional<Session> session;
  std::int64_t data_version = 0;

  void forget() {
    session.reset();
    store.names.forget_ids();
  }

  void discard() {
    rows.clear();
    readings.clear();
    import.reset();
    sources.discard();
  }

  /// Inside a write transaction, where nobody else can be quicker.
  Session& believed_session() {
    // Changes when another connection has committed (PRAGMA data_version).
    const std::int64_t version = store.database.integer("PRAGMA data_version");
    if (version != data_version) forget();
    data_version = version;
    if (!session) session.emplace(store.database);
    return *session;
  }

  Result<SheetIndex, Complaint> sheet(std::string_view name) {
    const auto known = std::find_if(sheets.begin(), sheets.end(),
                                    [&](const SheetFields& other) { return other.sheet == name; });
    if (known != sheets.end())
      return SheetIndex{static_cast<std::uint32_t>(known - sheets.begin())};
    return store.guarded<SheetIndex>([&] {
      sheets.push_back({std::string{name}, stored_fields(store.database, name), {}});
      return SheetIndex{static_cast<std::uint32_t>(sheets.size() - 1)};
    });
  }

  std::optional<Fault> refusal(const fleet::Hearing& hearing, const fleet::Labels& labels,
                               SheetFields& fields) const {
    if (rows.size() >= kMostPending) {
      return Fault{SQLITE_FULL, std::to_string(rows.size()) + " hearings wait to be stored",
                   "room on the disk, and a commit that succeeds"};
    }
    for (const fleet::Reading& reading : hearing.readings) {
      const std::string& name = labels.field_name(reading.field);
      if (fields.admit(name, static_cast<std::size_t>(reading.field))) continue;
      return Fault{SQLITE_TOOBIG,
                   "reading " + name + " is one too many for its sheet, which has " +
                       std::to_string(kMostFields),
                   "a log whose columns are fields, not values"};
    }
    return std::nullopt;
  }

  Committed write(const fleet::Labels& labels) {
    store.demand_writing();
    Database& database = store.database;
    Transaction transaction{database, Transaction::Kind::write};
    Session& current = believed_session();
    std::size_t reading = 0;
    for (const Pending& pending : rows) {
      Row row = pending.row;
      row.node = store.names.id_of(database, labels, fleet::NodeIndex{row.node});
      row.receiver = store.names.id_of(database, labels, fleet::ReceiverIndex{row.receiver});
      current.insert(row);
      if (pending.readings == 0) continue;
      current.readings_table(database, pending.sheet, sheets[pending.sheet].sheet)
          .insert(database, labels, row.arrival,
                  std::span{readings}.subspan(reading, pending.readings));
      reading += pending.readings;
    }
    store.names.keep_counters(database, labels);
    current.renew_views(database);
    sources.store(database, store.names, labels);
    const std::int64_t import_id = import ? store_import(database, *import) : 0;
    transaction.commit();
    return {static_cast<std::int64_t>(rows.size()), current.last_arrival(), import_id};
  }
};

Writer::Writer(Store& store) : impl_{std::make_unique<Impl>(*store.impl_)} {
  impl_->sheets.push_back({});
}
Writer::~Writer() = default;
Writer::Writer(Writer&&) noexcept = default;
Writer& Writer::operator=(Writer&&) noexcept = default;

Result<SheetIndex, Complaint> Writer::sheet(std::string_view name) { return impl_->sheet(name); }

Outcome Writer::append(const fleet::Hearing& hearing, const fleet::Labels& labels,
                       SheetIndex sheet) {
  SheetFields& fields = impl_->sheets[static_cast<std::size_t>(sheet)];
  if (const std::optional<Fault> fault = impl_->refusal(hearing, labels, fields)) {
    return Failure{complaint_of(*fault, impl_->store.file)};
  }
  Pending pending{row_of(hearing), static_cast<std::uint32_t>(sheet), 0};
  pending.row.node = static_cast<std::uint32_t>(hearing.node);
  pending.row.receiver = static_cast<std::uint32_t>(hearing.receiver);
  for (const fleet::Reading& reading : hearing.readings) {
    if (std::isnan(reading.value)) continue;  // a column can't hold it
    impl_->readings.push_back(reading);
    ++pending.readings;
  }
  impl_->rows.push_back(pending);
  return Done{};
}

void Writer::record(const Import& import, std::string_view head, std::vector<SkippedRow> skipped) {
  const std::size_t head_bytes =
      std::min({head.size(), Import::kHeadBytes, static_cast<std::size_t>(import.bytes_taken)});
  impl_->import =
      PendingImport{import, std::string{head.substr(0, head_bytes)}, std::move(skipped)};
}

void Writer::listened(std::string_view source, Instant from, Instant to) {
  impl_->sources.listened(source, from, to);
}

void Writer::remember(std::string_view source, std::span<const std::uint64_t> marks) {
  impl_->sources.remember(source, marks);
}

void Writer::total(const SourceTotals& totals) { impl_->sources.total(totals); }

void Writer::keep(UnreadFrame frame) { impl_->sources.keep(std::move(frame)); }

void Writer::came_through(fleet::ReceiverIndex receiver, std::string_view source) {
  impl_->sources.came_through(receiver, source);
}

std::size_t Writer::pending() const { return impl_->rows.size(); }

Result<Committed, Complaint> Writer::commit(const fleet::Labels& labels) {
  auto committed = impl_->store.guarded<Committed>([&] { return impl_->write(labels); });
  if (committed) {
    impl_->sources.stored();
    impl_->discard();
  } else {
    impl_->forget();
  }
  return committed;
}

void Writer::discard() { impl_->discard(); }

}  // namespace fieldfare::store
