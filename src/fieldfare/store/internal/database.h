// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <sqlite3.h>

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "fieldfare/base/complaint.h"
#include "fieldfare/base/instant.h"

namespace fieldfare::store {

/// What went wrong below the interface of this module. Thrown inside it only;
/// each public function turns it into a Complaint.
struct Fault {
  int code = SQLITE_ERROR;  ///< SQLite's result code, with or without its extension
  std::string what;
  std::string remedy;  ///< empty where the code says enough
};

/// The fault in words that say what to do.
Complaint complaint_of(const Fault& fault, const std::filesystem::path& file);

/// A prepared statement. Parameters and columns count from 1 and from 0, as in
/// SQLite. Values bound as text or bytes must live until the next step().
class Statement {
 public:
  Statement(sqlite3* database, std::string_view sql);

  void bind(int parameter, std::int64_t value) {
    check(sqlite3_bind_int64(handle_.get(), parameter, value));
  }
  void bind(int parameter, double value) {
    check(sqlite3_bind_double(handle_.get(), parameter, value));
  }
  void bind(int parameter, std::string_view text);
  void bind_bytes(int parameter, std::string_view bytes);
  void bind_null(int parameter) { check(sqlite3_bind_null(handle_.get(), parameter)); }

  /// To the next row; false at the end, after which it can be bound and run anew.
  bool step();
  /// For statements that give no rows.
  void run() {
    while (step()) {
    }
  }
  /// Leaves the rows that are still to come.
  void reset() { sqlite3_reset(handle_.get()); }

  bool is_null(int column) const {
    return sqlite3_column_type(handle_.get(), column) == SQLITE_NULL;
  }
  std::int64_t integer(int column) const { return sqlite3_column_int64(handle_.get(), column); }
  double real(int column) const { return sqlite3_column_double(handle_.get(), column); }
  /// Valid until the next step().
  std::string_view text(int column) const;
  std::string_view bytes(int column) const;

 private:
  struct Finalize {
    void operator()(sqlite3_stmt* handle) const { sqlite3_finalize(handle); }
  };
  [[noreturn]] void fail() const;
  void check(int code) const {
    if (code != SQLITE_OK) fail();
  }

  std::unique_ptr<sqlite3_stmt, Finalize> handle_;
};

/// A connection. One thread at a time.
class Database {
 public:
  enum class Access : std::uint8_t { read, write };

  /// Opens an existing file. Where it lies in a folder that can't be written and
  /// nobody writes to it, reading does without the files that share it.
  Database(const std::filesystem::path& file, Access access, Duration patience);

  void run(const std::string& sql);
  Statement prepare(std::string_view sql) { return {handle_.get(), sql}; }

  /// The single integer that `sql` asks for; 0 where it gives none.
  std::int64_t integer(std::string_view sql);

  bool in_transaction() const { return sqlite3_get_autocommit(handle_.get()) == 0; }

 private:
  struct Close {
    void operator()(sqlite3* handle) const { sqlite3_close_v2(handle); }
  };
  std::unique_ptr<sqlite3, Close> handle_;
};

/// Rolls back at its end unless commit() succeeded.
class Transaction {
 public:
  enum class Kind : std::uint8_t { read, write };

  Transaction(Database& database, Kind kind);
  ~Transaction();
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;

  void commit();

 private:
  Database& database_;
};

/// `name` as SQL writes identifiers, with what it contains made harmless.
std::string sql_name(std::string_view name);

}  // namespace fieldfare::store
