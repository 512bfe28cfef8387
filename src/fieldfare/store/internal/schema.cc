// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/store/internal/schema.h"

#include <array>

namespace fieldfare::store {
namespace {

/// Marks the file as ours ("FDFR"; PRAGMA application_id).
constexpr std::int64_t kApplicationId = 0x46444652;

// Described column by column in docs/formats/store.md.
constexpr const char* kTables = R"sql(
CREATE TABLE meta(
  key TEXT PRIMARY KEY,
  value TEXT NOT NULL
) WITHOUT ROWID;

CREATE TABLE node(
  id INTEGER PRIMARY KEY,
  address TEXT UNIQUE,
  name TEXT NOT NULL,
  listed INTEGER NOT NULL DEFAULT 0
);
CREATE INDEX node_by_name ON node(name);

CREATE TABLE receiver(
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE
);

CREATE TABLE hearing(
  arrival INTEGER PRIMARY KEY,
  node INTEGER NOT NULL REFERENCES node(id),
  receiver INTEGER NOT NULL REFERENCES receiver(id),
  time_ns INTEGER NOT NULL,
  seq INTEGER,
  rssi_dbm REAL,
  snr_db REAL,
  lqi REAL,
  noise_dbm REAL,
  supply_v REAL,
  arrived_ns INTEGER,
  implausible INTEGER NOT NULL DEFAULT 0
);

-- 4096 is kStretchRows.
CREATE TABLE stretch(
  number INTEGER PRIMARY KEY,
  packed BLOB NOT NULL
);
CREATE TRIGGER hearing_changed AFTER UPDATE ON hearing BEGIN
  DELETE FROM stretch
  WHERE number IN ((OLD.arrival - 1) / 4096, (NEW.arrival - 1) / 4096);
END;
CREATE TRIGGER hearing_removed AFTER DELETE ON hearing BEGIN
  DELETE FROM stretch WHERE number = (OLD.arrival - 1) / 4096;
END;

CREATE TABLE sheet(
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE,
  readings_table TEXT NOT NULL UNIQUE
);
CREATE TABLE field(
  sheet INTEGER NOT NULL REFERENCES sheet(id),
  name TEXT NOT NULL,
  column_name TEXT NOT NULL,
  PRIMARY KEY(sheet, name)
) WITHOUT ROWID;

CREATE TABLE roster_event(
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  at_ns INTEGER NOT NULL,
  who TEXT NOT NULL,
  node INTEGER REFERENCES node(id),
  what TEXT NOT NULL,
  before TEXT,
  after TEXT,
  why TEXT NOT NULL
);
CREATE TRIGGER roster_event_kept BEFORE UPDATE ON roster_event BEGIN
  SELECT RAISE(ABORT, 'the history of the roster is only added to');
END;
CREATE TRIGGER roster_event_stays BEFORE DELETE ON roster_event BEGIN
  SELECT RAISE(ABORT, 'the history of the roster is only added to');
END;
-- A replacing insert deletes without firing the trigger above.
CREATE TRIGGER roster_event_added BEFORE INSERT ON roster_event
WHEN EXISTS (SELECT 1 FROM roster_event WHERE id = NEW.id) BEGIN
  SELECT RAISE(ABORT, 'the history of the roster is only added to');
END;

CREATE TABLE checkpoint(
  subject TEXT PRIMARY KEY,
  watermark INTEGER NOT NULL,
  version INTEGER NOT NULL,
  state BLOB NOT NULL
);

CREATE TABLE import(
  id INTEGER PRIMARY KEY,
  head_bytes INTEGER NOT NULL,
  head_sha256 BLOB NOT NULL,
  name TEXT NOT NULL,
  size_bytes INTEGER NOT NULL,
  bytes_taken INTEGER NOT NULL,
  rows_taken INTEGER NOT NULL,
  rows_skipped INTEGER NOT NULL,
  at_ns INTEGER NOT NULL,
  UNIQUE(head_bytes, head_sha256)
);
CREATE TABLE import_skip(
  import INTEGER NOT NULL REFERENCES import(id),
  line INTEGER NOT NULL,
  why TEXT NOT NULL,
  quote TEXT NOT NULL,
  PRIMARY KEY(import, line)
) WITHOUT ROWID;

PRAGMA application_id = 1178879570;
)sql";

const std::string& first_sql() {
  static const std::string text =
      std::string{kTables} + "CREATE VIEW hearings AS SELECT h.arrival, " +
      rfc3339_sql("h.time_ns") +
      " AS time, n.name AS node, n.address, r.name AS receiver, h.seq, h.rssi_dbm, h.snr_db, h.lqi,"
      " h.noise_dbm, h.supply_v, " +
      rfc3339_sql("h.arrived_ns") +
      " AS arrived_at, h.implausible FROM hearing h"
      " JOIN node n ON n.id = h.node JOIN receiver r ON r.id = h.receiver;"
      "CREATE VIEW roster_history AS SELECT e.id, " +
      rfc3339_sql("e.at_ns") +
      " AS at, e.who, n.name AS node, e.what, e.before, e.after, e.why"
      " FROM roster_event e LEFT JOIN node n ON n.id = e.node;";
  return text;
}

// Version 2: what listening keeps.
constexpr const char* kListening = R"sql(
ALTER TABLE hearing ADD COLUMN batched INTEGER NOT NULL DEFAULT 0;
ALTER TABLE node ADD COLUMN shared_counter INTEGER NOT NULL DEFAULT 0;
ALTER TABLE node ADD COLUMN sequence_bits INTEGER;

CREATE TABLE source(
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE,
  endpoint TEXT NOT NULL DEFAULT '',
  bytes_fed INTEGER NOT NULL DEFAULT 0,
  bytes_in_frames INTEGER NOT NULL DEFAULT 0,
  bytes_lost INTEGER NOT NULL DEFAULT 0,
  bytes_pending INTEGER NOT NULL DEFAULT 0,
  frames INTEGER NOT NULL DEFAULT 0,
  frames_read INTEGER NOT NULL DEFAULT 0,
  frames_unread INTEGER NOT NULL DEFAULT 0,
  frames_foreign INTEGER NOT NULL DEFAULT 0,
  reports INTEGER NOT NULL DEFAULT 0,
  hearings INTEGER NOT NULL DEFAULT 0,
  reports_refused INTEGER NOT NULL DEFAULT 0,
  repeated INTEGER NOT NULL DEFAULT 0,
  dropped_bytes INTEGER NOT NULL DEFAULT 0,
  at_ns INTEGER
);
CREATE TABLE source_reason(
  source INTEGER NOT NULL REFERENCES source(id),
  kind TEXT NOT NULL,
  reason TEXT NOT NULL,
  count INTEGER NOT NULL,
  PRIMARY KEY(source, kind, reason)
) WITHOUT ROWID;
CREATE TABLE source_mark(
  source INTEGER PRIMARY KEY REFERENCES source(id),
  marks BLOB NOT NULL
);
ALTER TABLE receiver ADD COLUMN source INTEGER REFERENCES source(id);

CREATE TABLE listening(
  source INTEGER NOT NULL REFERENCES source(id),
  from_ns INTEGER NOT NULL,
  to_ns INTEGER NOT NULL,
  PRIMARY KEY(source, from_ns)
) WITHOUT ROWID;

CREATE TABLE unread(
  id INTEGER PRIMARY KEY,
  source INTEGER NOT NULL REFERENCES source(id),
  at_ns INTEGER NOT NULL,
  reason TEXT NOT NULL,
  what TEXT NOT NULL,
  octets BLOB NOT NULL,
  length INTEGER NOT NULL
);
CREATE INDEX unread_by_source ON unread(source, id);
)sql";

const std::string& second_sql() {
  static const std::string text =
      std::string{kListening} + "DROP VIEW hearings; CREATE VIEW hearings AS SELECT h.arrival, " +
      rfc3339_sql("h.time_ns") +
      " AS time, n.name AS node, n.address, r.name AS receiver, h.seq, h.rssi_dbm, h.snr_db, h.lqi,"
      " h.noise_dbm, h.supply_v, " +
      rfc3339_sql("h.arrived_ns") +
      " AS arrived_at, h.implausible, h.batched FROM hearing h"
      " JOIN node n ON n.id = h.node JOIN receiver r ON r.id = h.receiver;"
      "CREATE VIEW listening_times AS SELECT s.name AS source, " +
      rfc3339_sql("l.from_ns") + " AS began, " + rfc3339_sql("l.to_ns") +
      " AS ended, (l.to_ns - l.from_ns) / 1e9 AS duration_s"
      " FROM listening l JOIN source s ON s.id = l.source;"
      "CREATE VIEW unread_frames AS SELECT " +
      rfc3339_sql("u.at_ns") +
      " AS at, s.name AS source, u.reason, u.what, hex(u.octets) AS octets, u.length"
      " FROM unread u JOIN source s ON s.id = u.source;";
  return text;
}

std::int64_t version_of(Database& database) { return database.integer("PRAGMA user_version"); }

}  // namespace

std::string rfc3339_sql(const std::string& column) {
  // The remainder of a division is negative before 1970 and made positive, so
  // that the seconds are those that had passed.
  const std::string part = "((" + column + " % 1000000000 + 1000000000) % 1000000000)";
  return "strftime('%Y-%m-%dT%H:%M:%S', (" + column + " - " + part +
         ") / 1000000000, 'unixepoch') || CASE WHEN " + part + " = 0 THEN 'Z' WHEN " + part +
         " % 1000000 = 0 THEN printf('.%03dZ', " + part + " / 1000000) WHEN " + part +
         " % 1000 = 0 THEN printf('.%06dZ', " + part + " / 1000) ELSE printf('.%09dZ', " + part +
         ") END";
}

std::span<const Migration> migrations() {
  static const std::array<Migration, 2> all{{{first_sql().c_str()}, {second_sql().c_str()}}};
  return all;
}

void refuse_strangers(Database& database, std::span<const Migration> known) {
  const std::int64_t version = version_of(database);
  const bool ours = database.integer("PRAGMA application_id") == kApplicationId;
  const bool empty = database.integer("SELECT count(*) FROM sqlite_schema") == 0;
  if (!ours && (!empty || version != 0)) {
    throw Fault{SQLITE_NOTADB, "this database was not made by Fieldfare",
                "the fieldfare.db of a site; move this file out of the way"};
  }
  if (version > static_cast<std::int64_t>(known.size())) {
    throw Fault{SQLITE_ERROR,
                "it was written by a newer program (schema version " + std::to_string(version) +
                    "; this one knows up to " + std::to_string(known.size()) + ")",
                "use the newer program, or a copy of the file made before"};
  }
}

void migrate(Database& database, std::span<const Migration> known) {
  refuse_strangers(database, known);
  if (version_of(database) == static_cast<std::int64_t>(known.size())) return;

  Transaction transaction{database, Transaction::Kind::write};
  // Asked again: another program may have been quicker.
  refuse_strangers(database, known);
  for (auto done = static_cast<std::size_t>(version_of(database)); done < known.size(); ++done) {
    database.run(known[done].sql);
    database.run("PRAGMA user_version = " + std::to_string(done + 1));
  }
  database.run("INSERT INTO meta VALUES('program', '" FIELDFARE_VERSION
               "') ON CONFLICT(key) DO UPDATE SET value = excluded.value");
  transaction.commit();
}

void check_version(Database& database, std::span<const Migration> known) {
  refuse_strangers(database, known);
  const std::int64_t version = version_of(database);
  if (version == 0) {
    throw Fault{SQLITE_NOTADB, "nothing is stored in it yet",
                "a file that hearings were taken into"};
  }
  if (version < static_cast<std::int64_t>(known.size())) {
    throw Fault{SQLITE_ERROR, "it was written by an older program and has to be brought up to date",
                "take hearings into it once, or open a copy for writing"};
  }
}

}  // namespace fieldfare::store
