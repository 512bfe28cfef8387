// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <limits>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/fleet/hearing.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/store/internal/database.h"

namespace fieldfare::store {

/// More than any kind of node has, and fewer than SQLite's 2000
/// columns of a table.
inline constexpr std::size_t kMostFields = 400;

/// `name` as table or column name: letters, digits and `_`, all others made `_`.
std::string sanitised(std::string_view name);

/// The table of readings of one sheet, for writing.
class ReadingsTable {
 public:
  /// Finds the table of `sheet` (empty: of nodes without one) or makes it.
  /// Inside a write transaction.
  ReadingsTable(Database& database, std::string_view sheet);

  /// Adds the columns that are missing. A Fault beyond kMostFields.
  void insert(Database& database, const fleet::Labels& labels, std::int64_t arrival,
              std::span<const fleet::Reading> readings);

  /// Makes the view for people fit the columns, before the transaction ends.
  void renew_view(Database& database);

 private:
  void add_column(Database& database, const std::string& field);
  int parameter_of(Database& database, const fleet::Labels& labels, fleet::FieldIndex field);

  struct Column {
    std::string field;
    std::string name;
  };

  std::int64_t id_ = 0;
  std::string table_;
  bool view_is_stale_ = false;
  std::vector<Column> columns_;
  std::vector<int> parameter_by_field_;  ///< 0 where not known yet
  std::vector<int> parameters_;          ///< of the row that is being stored
  std::vector<int> bound_;               ///< those that are not NULL
  std::vector<Statement> insert_;        ///< none or one, for all columns
};

/// The readings of a range of arrivals, of all sheets.
class ReadingsReader {
 public:
  ReadingsReader(Database& database, fleet::Labels& labels);

  void load(std::int64_t first_arrival, std::int64_t last_arrival);

  /// Of a hearing in the range loaded last. Valid until the next load().
  std::span<const fleet::Reading> of(std::int64_t arrival) const;

 private:
  struct Sheet {
    Statement query;
    std::vector<fleet::FieldIndex> fields;
  };
  struct Extent {
    std::uint32_t begin = 0;
    std::uint32_t count = 0;
  };

  std::vector<Sheet> sheets_;
  std::int64_t first_arrival_ = 0;
  std::vector<Extent> extents_;  ///< by arrival - first_arrival_
  std::vector<fleet::Reading> readings_;
};

}  // namespace fieldfare::store
