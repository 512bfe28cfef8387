// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <string>

#include "fieldfare/store/internal/database.h"

namespace fieldfare::store {

/// SQL that takes a database from one schema version to the next. Migrations
/// only go forward; a released one is never changed.
struct Migration {
  const char* sql;
};

/// All that this program knows; the first makes the tables from nothing, and
/// the schema version of a file (PRAGMA user_version) counts those applied.
std::span<const Migration> migrations();

/// Refuses a database that is not ours, or of a newer program, before anything
/// is done to it. An empty one will do.
void refuse_strangers(Database& database, std::span<const Migration> known);

/// Brings a database to the version of `known`, all or nothing.
void migrate(Database& database, std::span<const Migration> known);

/// Refuses what can't be read without migrating it first.
void check_version(Database& database, std::span<const Migration> known);

/// SQL expression for the RFC 3339 text of a column of nanoseconds, with as
/// many decimals (0, 3, 6, 9) as the moment needs.
std::string rfc3339_sql(const std::string& column);

}  // namespace fieldfare::store
