// SPDX-License-Identifier: Apache-2.0
// Stores an invented year of 200 nodes and reads it back, against a bare loop of
// prepared inserts of the same rows into the same tables with the same pragmas;
// the packed stretches are made beforehand for it.
// Prints `name value unit` and `ratio name value` lines.
//
//     benchmark_store_year [DAYS] [FOLDER]
//
// The store stays in FOLDER/fieldfare.db (default: ., 365 days).

#include <sqlite3.h>

#include <array>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <functional>
#include <string>
#include <vector>

#include "fieldfare/fleet/labels.h"
#include "fieldfare/store/store.h"
#include "fieldfare/store/writer.h"
#include "year.h"

namespace {

namespace fleet = fieldfare::fleet;
namespace store = fieldfare::store;
namespace truth = fieldfare::truth;

constexpr std::size_t kBatch = 10'000;
constexpr std::int64_t kStretchRows = 4096;  // docs/formats/store.md

[[noreturn]] void give_up(const std::string& why) {
  std::fprintf(stderr, "%s\n", why.c_str());
  std::exit(3);
}

template <class Value>
Value need(fieldfare::Result<Value, fieldfare::Complaint> result) {
  if (!result) give_up(result.error().text());
  return std::move(*result);
}

double cpu_s_of(const std::function<void()>& work) {
  const std::clock_t begin = std::clock();
  work();
  return static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC;
}

void remove_store(const std::filesystem::path& file) {
  for (const char* suffix : {"", "-wal", "-shm"}) std::filesystem::remove(file.string() + suffix);
}

struct Names {
  fleet::Labels labels;
  std::vector<fleet::NodeIndex> nodes;
  std::vector<fleet::ReceiverIndex> receivers;
  fleet::FieldIndex temperature{};
  fleet::FieldIndex humidity{};
};

void make_names(Names& names) {
  for (unsigned node = 0; node < 200; ++node) {
    std::array<char, 17> address{};
    std::snprintf(address.data(), address.size(), "024D210000%06X", 0x5CE7 + 97 * node);
    names.nodes.push_back(*names.labels.node(address.data()));
  }
  names.receivers = {*names.labels.receiver("r1"), *names.labels.receiver("r2")};
  names.temperature = *names.labels.field("temperature_c");
  names.humidity = *names.labels.field("humidity_pct");
}

using Rows = std::vector<truth::YearRow>;

void append(store::Writer& writer, const Names& names, const truth::YearRow& row) {
  const std::array<fleet::Reading, 2> readings{
      {{names.temperature, row.temperature_c}, {names.humidity, row.humidity_pct}}};
  fleet::Hearing hearing;
  hearing.time = {row.time_ns};
  hearing.node = names.nodes[row.node];
  hearing.receiver = names.receivers[row.receiver];
  hearing.sequence = row.seq;
  hearing.rssi_dbm = row.rssi_dbm;
  hearing.snr_db = row.snr_db;
  hearing.readings = readings;
  need(writer.append(hearing, names.labels));
}

double store_rows(const std::filesystem::path& file, const Names& names, const Rows& rows) {
  store::Store kept = need(store::Store::open(file, store::Mode::write));
  store::Writer writer{kept};
  return cpu_s_of([&] {
    for (const truth::YearRow& row : rows) {
      append(writer, names, row);
      if (writer.pending() == kBatch) need(writer.commit(names.labels));
    }
    need(writer.commit(names.labels));
  });
}

void run(sqlite3* database, const char* sql) {
  if (sqlite3_exec(database, sql, nullptr, nullptr, nullptr) != SQLITE_OK) {
    give_up(sqlite3_errmsg(database));
  }
}

sqlite3_stmt* prepared(sqlite3* database, const char* sql) {
  sqlite3_stmt* statement = nullptr;
  if (sqlite3_prepare_v2(database, sql, -1, &statement, nullptr) != SQLITE_OK) {
    give_up(sqlite3_errmsg(database));
  }
  return statement;
}

/// The packed stretches of a store, in order.
std::vector<std::string> stretches_of(const std::filesystem::path& file) {
  sqlite3* database = nullptr;
  sqlite3_open_v2(file.c_str(), &database, SQLITE_OPEN_READONLY, nullptr);
  sqlite3_stmt* query = prepared(database, "SELECT packed FROM stretch ORDER BY number");
  std::vector<std::string> stretches;
  while (sqlite3_step(query) == SQLITE_ROW) {
    stretches.emplace_back(static_cast<const char*>(sqlite3_column_blob(query, 0)),
                           static_cast<std::size_t>(sqlite3_column_bytes(query, 0)));
  }
  sqlite3_finalize(query);
  sqlite3_close(database);
  return stretches;
}

/// The loop that somebody would write who has the rows in memory, with their ids,
/// and nothing to look after.
double store_bare(const std::filesystem::path& file, const Names& names, const Rows& rows,
                  const std::vector<std::string>& stretches) {
  {  // the tables, with one row that is removed again
    store::Store kept = need(store::Store::open(file, store::Mode::write));
    store::Writer writer{kept};
    append(writer, names, rows.front());
    need(writer.commit(names.labels));
  }
  sqlite3* database = nullptr;
  sqlite3_open_v2(file.c_str(), &database, SQLITE_OPEN_READWRITE | SQLITE_OPEN_NOMUTEX, nullptr);
  run(database,
      "PRAGMA synchronous = FULL; PRAGMA cache_size = -65536; PRAGMA wal_autocheckpoint = 4000;"
      "DELETE FROM hearing; DELETE FROM reading_unsheeted");
  sqlite3_stmt* hearing = prepared(
      database,
      "INSERT INTO hearing(arrival, node, receiver, time_ns, seq, rssi_dbm, snr_db, implausible)"
      " VALUES(?, ?, ?, ?, ?, ?, ?, 0)");
  sqlite3_stmt* reading = prepared(
      database,
      "INSERT INTO reading_unsheeted(arrival, temperature_c, humidity_pct) VALUES(?, ?, ?)");
  sqlite3_stmt* stretch = prepared(database, "INSERT INTO stretch(number, packed) VALUES(?, ?)");
  const auto insert = [&](sqlite3_stmt* statement) {
    if (sqlite3_step(statement) != SQLITE_DONE) give_up(sqlite3_errmsg(database));
    sqlite3_reset(statement);
  };
  const double cpu_s = cpu_s_of([&] {
    std::int64_t arrival = 0;
    for (const truth::YearRow& row : rows) {
      if (arrival % static_cast<std::int64_t>(kBatch) == 0) {
        run(database, arrival == 0 ? "BEGIN" : "COMMIT; BEGIN");
      }
      sqlite3_bind_int64(hearing, 1, ++arrival);
      sqlite3_bind_int64(hearing, 2, row.node + 1);
      sqlite3_bind_int64(hearing, 3, row.receiver + 1);
      sqlite3_bind_int64(hearing, 4, row.time_ns);
      sqlite3_bind_int64(hearing, 5, static_cast<std::int64_t>(row.seq));
      sqlite3_bind_double(hearing, 6, row.rssi_dbm);
      sqlite3_bind_double(hearing, 7, row.snr_db);
      insert(hearing);
      sqlite3_bind_int64(reading, 1, arrival);
      sqlite3_bind_double(reading, 2, row.temperature_c);
      sqlite3_bind_double(reading, 3, row.humidity_pct);
      insert(reading);
      if (arrival % kStretchRows == 0) {
        const auto number = static_cast<std::size_t>(arrival / kStretchRows - 1);
        sqlite3_bind_int64(stretch, 1, static_cast<std::int64_t>(number));
        sqlite3_bind_blob64(stretch, 2, stretches[number].data(), stretches[number].size(),
                            SQLITE_STATIC);
        insert(stretch);
      }
    }
    run(database, "COMMIT");
  });
  sqlite3_finalize(hearing);
  sqlite3_finalize(reading);
  sqlite3_finalize(stretch);
  sqlite3_close(database);
  return cpu_s;
}

void measure_scans(const std::filesystem::path& file, std::size_t rows) {
  const auto scan = [&](const char* name, const store::Scan& what, std::size_t expected) {
    fleet::Labels labels;
    store::Store kept = need(store::Store::open(file, store::Mode::read));
    need(kept.load_labels(labels));
    std::size_t count = 0;
    std::size_t readings = 0;
    const double cpu_s = cpu_s_of([&] {
      need(kept.scan(what, labels, [&](const store::StoredHearing& stored) {
        ++count;
        readings += stored.hearing.readings.size();
      }));
    });
    std::printf("store_year.%s %.3f cpu_s\n", name, cpu_s);
    if (expected != 0 && count != expected) give_up("hearings were lost");
    if (what.with_readings && readings != 2 * count) give_up("readings were lost");
  };
  const std::array<fleet::NodeIndex, 1> one{fleet::NodeIndex{7}};
  scan("scan", {}, rows);
  scan("scan_with_readings", {.with_readings = true}, rows);
  scan("scan_one_node", {.nodes = one}, 0);
  scan("scan_last_1000", {.after_arrival = static_cast<std::int64_t>(rows) - 1000}, 1000);
}

}  // namespace

int main(int count, char** arguments) {
  truth::YearSize size;
  if (count > 1) size.days = static_cast<std::uint32_t>(std::atoi(arguments[1]));
  const std::filesystem::path folder = count > 2 ? arguments[2] : ".";
  const std::filesystem::path file = folder / "fieldfare.db";
  const std::filesystem::path bare_file = folder / "bare.db";
  remove_store(file);
  remove_store(bare_file);

  Rows rows;
  truth::stream_year(size, [&](const truth::YearRow& row) { rows.push_back(row); });
  Names names;
  make_names(names);
  const auto total = static_cast<double>(rows.size());
  std::printf("store_year.rows %.0f count\n", total);

  const double store_cpu_s = store_rows(file, names, rows);
  std::printf("store_year.store %.0f rows/cpu_s\n", total / store_cpu_s);
  const double bare_cpu_s = store_bare(bare_file, names, rows, stretches_of(file));
  std::printf("store_year.bare %.0f rows/cpu_s\n", total / bare_cpu_s);
  remove_store(bare_file);
  std::printf("ratio store_year.store_to_bare %.3f\n", bare_cpu_s / store_cpu_s);
  std::printf("store_year.size %.1f B/row\n",
              static_cast<double>(std::filesystem::file_size(file)) / total);
  measure_scans(file, rows.size());
}
