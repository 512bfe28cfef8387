// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/store/internal/database.h"

#include <utility>

namespace fieldfare::store {
namespace {

[[noreturn]] void fail(sqlite3* database) {
  throw Fault{sqlite3_extended_errcode(database), sqlite3_errmsg(database), {}};
}

/// The path as a URI, so that parameters can follow it.
std::string uri_of(const std::filesystem::path& file) {
  std::string uri = "file:";
  for (const char byte : std::filesystem::absolute(file).string()) {
    if (byte == '%' || byte == '?' || byte == '#') {
      constexpr std::string_view kDigits = "0123456789ABCDEF";
      const auto value = static_cast<unsigned char>(byte);
      uri += {'%', kDigits[value / 16], kDigits[value % 16]};
    } else {
      uri += byte;
    }
  }
  return uri;
}

struct Words {
  std::string what;
  std::string expected;
};

Words words_of(const Fault& fault) {
  switch (fault.code & 0xff) {
    case SQLITE_FULL:
      return {"no room: the disk is full or the file has reached its limit",
              "make room and try again; nothing of the last commit was stored"};
    case SQLITE_READONLY:
    case SQLITE_PERM:
      return {"it can be read but not written", "make the file and its folder writable"};
    case SQLITE_CANTOPEN:
      return {"it can't be opened", "a file that this user may open, in a folder that exists"};
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      return {"another program is writing to it",
              "wait for that program or end it, then try again"};
    case SQLITE_NOTADB:
      return {"this is no database", "the fieldfare.db of a site; move this file out of the way"};
    case SQLITE_CORRUPT:
      return {"the database is damaged (" + fault.what + ")",
              "restore a copy, or save what can be read with: sqlite3 FILE .recover"};
    case SQLITE_IOERR:
      return {"the disk failed (" + fault.what + ")",
              "check the disk; what was committed before is safe"};
    default:
      return {fault.what, {}};
  }
}

}  // namespace

Complaint complaint_of(const Fault& fault, const std::filesystem::path& file) {
  Words words = words_of(fault);
  if (!fault.remedy.empty()) words = {fault.what, fault.remedy};
  return {{file.string(), 0, 0}, std::move(words.what), std::move(words.expected)};
}

Statement::Statement(sqlite3* database, std::string_view sql) {
  sqlite3_stmt* handle = nullptr;
  const int code = sqlite3_prepare_v3(database, sql.data(), static_cast<int>(sql.size()),
                                      SQLITE_PREPARE_PERSISTENT, &handle, nullptr);
  handle_.reset(handle);
  if (code != SQLITE_OK) store::fail(database);
}

void Statement::fail() const { store::fail(sqlite3_db_handle(handle_.get())); }

void Statement::bind(int parameter, std::string_view text) {
  check(sqlite3_bind_text64(handle_.get(), parameter, text.data() ? text.data() : "", text.size(),
                            SQLITE_STATIC, SQLITE_UTF8));
}

void Statement::bind_bytes(int parameter, std::string_view bytes) {
  check(sqlite3_bind_blob64(handle_.get(), parameter, bytes.data() ? bytes.data() : "",
                            bytes.size(), SQLITE_STATIC));
}

bool Statement::step() {
  const int code = sqlite3_step(handle_.get());
  if (code == SQLITE_ROW) return true;
  // Resetting repeats the code of the failed step, and its message stays.
  check(sqlite3_reset(handle_.get()));
  return false;
}

std::string_view Statement::text(int column) const {
  const auto* data = sqlite3_column_text(handle_.get(), column);
  if (!data) return {};
  return {reinterpret_cast<const char*>(data),
          static_cast<std::size_t>(sqlite3_column_bytes(handle_.get(), column))};
}

std::string_view Statement::bytes(int column) const {
  const void* data = sqlite3_column_blob(handle_.get(), column);
  if (!data) return {};
  return {static_cast<const char*>(data),
          static_cast<std::size_t>(sqlite3_column_bytes(handle_.get(), column))};
}

Database::Database(const std::filesystem::path& file, Access access, Duration patience) {
  // One thread uses a connection at a time, so SQLite's own locks are left out.
  constexpr int kAlways = SQLITE_OPEN_URI | SQLITE_OPEN_NOMUTEX | SQLITE_OPEN_EXRESCODE;
  const int flags =
      kAlways | (access == Access::write ? SQLITE_OPEN_READWRITE : SQLITE_OPEN_READONLY);
  const auto open = [&](const std::string& uri) {
    sqlite3* handle = nullptr;
    const int code = sqlite3_open_v2(uri.c_str(), &handle, flags, nullptr);
    handle_.reset(handle);
    if (code != SQLITE_OK) fail(handle);
    sqlite3_busy_timeout(handle, static_cast<int>(patience.ns / 1'000'000));
    return sqlite3_exec(handle, "SELECT count(*) FROM sqlite_schema", nullptr, nullptr, nullptr);
  };
  int code = open(uri_of(file));
  const int primary = code & 0xff;
  if (access == Access::read && (primary == SQLITE_CANTOPEN || primary == SQLITE_READONLY) &&
      !std::filesystem::exists(file.string() + "-wal")) {
    code = open(uri_of(file) + "?immutable=1");
  }
  if (code != SQLITE_OK) fail(handle_.get());
}

void Database::run(const std::string& sql) {
  if (sqlite3_exec(handle_.get(), sql.c_str(), nullptr, nullptr, nullptr) != SQLITE_OK) {
    fail(handle_.get());
  }
}

std::int64_t Database::integer(std::string_view sql) {
  Statement statement = prepare(sql);
  return statement.step() ? statement.integer(0) : 0;
}

Transaction::Transaction(Database& database, Kind kind) : database_{database} {
  database_.run(kind == Kind::write ? "BEGIN IMMEDIATE" : "BEGIN");
}

Transaction::~Transaction() {
  if (!database_.in_transaction()) return;
  try {
    database_.run("ROLLBACK");
  } catch (const Fault&) {
    // The file is then restored from its log by whoever opens it next; the
    // fault that led here is the one to tell.
  }
}

void Transaction::commit() { database_.run("COMMIT"); }

std::string sql_name(std::string_view name) {
  std::string text = "\"";
  for (const char byte : name) {
    if (byte == '"') text += '"';
    text += byte;
  }
  return text + '"';
}

}  // namespace fieldfare::store
