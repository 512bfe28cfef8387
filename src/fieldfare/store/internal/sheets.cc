// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/store/internal/sheets.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "fieldfare/store/internal/schema.h"

namespace fieldfare::store {
namespace {

bool is_plain(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_';
}

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

/// SQL takes names that differ in case alone for the same.
bool same_name(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](char x, char y) { return lower(x) == lower(y); });
}

/// `wish`, or `wish_2` and so on where it is taken.
template <class Taken>
std::string free_name(const std::string& wish, Taken&& taken) {
  std::string name = wish;
  for (int number = 2; taken(name); ++number) name = wish + "_" + std::to_string(number);
  return name;
}

std::string view_of(const std::string& table) {
  return "readings" + table.substr(sizeof("reading") - 1);
}

}  // namespace

std::string sanitised(std::string_view name) {
  std::string plain{name};
  for (char& c : plain) {
    if (!is_plain(c)) c = '_';
  }
  return plain;
}

ReadingsTable::ReadingsTable(Database& database, std::string_view sheet) {
  Statement find = database.prepare("SELECT id, readings_table FROM sheet WHERE name = ?");
  find.bind(1, sheet);
  if (find.step()) {
    id_ = find.integer(0);
    table_ = find.text(1);
    Statement fields = database.prepare("SELECT name, column_name FROM field WHERE sheet = ?");
    fields.bind(1, id_);
    while (fields.step()) {
      columns_.push_back({std::string{fields.text(0)}, std::string{fields.text(1)}});
    }
    return;
  }
  Statement taken = database.prepare(
      "SELECT 1 FROM sqlite_schema WHERE name = ? COLLATE NOCASE OR name = ? COLLATE NOCASE");
  table_ = free_name("reading_" + (sheet.empty() ? "unsheeted" : sanitised(sheet)),
                     [&](const std::string& name) {
                       const std::string view = view_of(name);
                       taken.reset();
                       taken.bind(1, name);
                       taken.bind(2, view);
                       return taken.step();
                     });
  taken.reset();
  database.run("CREATE TABLE " + sql_name(table_) +
               "(arrival INTEGER PRIMARY KEY REFERENCES hearing(arrival))");
  Statement add = database.prepare("INSERT INTO sheet(name, readings_table) VALUES(?, ?)");
  add.bind(1, sheet);
  add.bind(2, table_);
  add.run();
  id_ = database.integer("SELECT last_insert_rowid()");
  view_is_stale_ = true;
}

void ReadingsTable::renew_view(Database& database) {
  if (!view_is_stale_) return;
  std::string sql = "DROP VIEW IF EXISTS " + sql_name(view_of(table_)) + "; CREATE VIEW " +
                    sql_name(view_of(table_)) + " AS SELECT x.arrival, " +
                    rfc3339_sql("h.time_ns") +
                    " AS time, n.name AS node, n.address, r.name AS receiver";
  for (const Column& column : columns_) sql += ", x." + sql_name(column.name);
  sql += " FROM " + sql_name(table_) +
         " x JOIN hearing h ON h.arrival = x.arrival"
         " JOIN node n ON n.id = h.node JOIN receiver r ON r.id = h.receiver;";
  database.run(sql);
  view_is_stale_ = false;
}

void ReadingsTable::add_column(Database& database, const std::string& field) {
  if (columns_.size() >= kMostFields) {
    throw Fault{SQLITE_TOOBIG,
                "more than " + std::to_string(kMostFields) + " different readings for one sheet",
                "a log whose columns are fields, not values"};
  }
  const std::string name = free_name(sanitised(field), [&](const std::string& wish) {
    constexpr std::string_view kOfTheView[] = {"arrival", "time", "node", "address", "receiver"};
    const auto same = [&](std::string_view other) { return same_name(other, wish); };
    return std::any_of(std::begin(kOfTheView), std::end(kOfTheView), same) ||
           std::any_of(columns_.begin(), columns_.end(),
                       [&](const Column& column) { return same(column.name); });
  });
  database.run("ALTER TABLE " + sql_name(table_) + " ADD COLUMN " + sql_name(name) + " REAL");
  Statement add = database.prepare("INSERT INTO field(sheet, name, column_name) VALUES(?, ?, ?)");
  add.bind(1, id_);
  add.bind(2, field);
  add.bind(3, name);
  add.run();
  columns_.push_back({field, name});
  view_is_stale_ = true;
  insert_.clear();
}

int ReadingsTable::parameter_of(Database& database, const fleet::Labels& labels,
                                fleet::FieldIndex field) {
  const auto index = static_cast<std::size_t>(field);
  if (index < parameter_by_field_.size() && parameter_by_field_[index] != 0) {
    return parameter_by_field_[index];
  }
  const std::string& name = labels.field_name(field);
  auto column = std::find_if(columns_.begin(), columns_.end(),
                             [&](const Column& known) { return known.field == name; });
  if (column == columns_.end()) {
    add_column(database, name);
    column = columns_.end() - 1;
  }
  if (parameter_by_field_.size() <= index) parameter_by_field_.resize(index + 1, 0);
  return parameter_by_field_[index] = static_cast<int>(column - columns_.begin()) + 2;
}

void ReadingsTable::insert(Database& database, const fleet::Labels& labels, std::int64_t arrival,
                           std::span<const fleet::Reading> readings) {
  parameters_.clear();
  for (const fleet::Reading& reading : readings) {
    parameters_.push_back(parameter_of(database, labels, reading.field));
  }
  if (insert_.empty()) {
    std::string sql = "INSERT INTO " + sql_name(table_) + "(arrival";
    for (const Column& column : columns_) sql += ", " + sql_name(column.name);
    sql += ") VALUES(?";
    for (std::size_t i = 0; i < columns_.size(); ++i) sql += ", ?";
    insert_.push_back(database.prepare(sql + ")"));
    bound_.clear();
  }
  Statement& statement = insert_.front();
  if (parameters_ != bound_) {
    for (const int parameter : bound_) statement.bind_null(parameter);
    bound_ = parameters_;
  }
  statement.bind(1, arrival);
  for (std::size_t i = 0; i < readings.size(); ++i) {
    statement.bind(parameters_[i], readings[i].value);
  }
  statement.run();
}

ReadingsReader::ReadingsReader(Database& database, fleet::Labels& labels) {
  Statement sheets = database.prepare("SELECT id, readings_table FROM sheet ORDER BY id");
  while (sheets.step()) {
    std::string sql = "SELECT arrival";
    std::vector<fleet::FieldIndex> fields;
    Statement columns = database.prepare("SELECT name, column_name FROM field WHERE sheet = ?");
    columns.bind(1, sheets.integer(0));
    while (columns.step()) {
      const auto field = labels.field(columns.text(0));
      if (!field) throw Fault{SQLITE_TOOBIG, "more fields than one run can tell apart", {}};
      fields.push_back(*field);
      sql += ", " + sql_name(columns.text(1));
    }
    sql += " FROM " + sql_name(sheets.text(1)) + " WHERE arrival BETWEEN ? AND ? ORDER BY arrival";
    sheets_.push_back({database.prepare(sql), std::move(fields)});
  }
}

void ReadingsReader::load(std::int64_t first_arrival, std::int64_t last_arrival) {
  first_arrival_ = first_arrival;
  extents_.assign(static_cast<std::size_t>(last_arrival - first_arrival + 1), {});
  readings_.clear();
  for (Sheet& sheet : sheets_) {
    sheet.query.bind(1, first_arrival);
    sheet.query.bind(2, last_arrival);
    while (sheet.query.step()) {
      Extent& extent = extents_[static_cast<std::size_t>(sheet.query.integer(0) - first_arrival)];
      extent.begin = static_cast<std::uint32_t>(readings_.size());
      for (std::size_t i = 0; i < sheet.fields.size(); ++i) {
        const int column = static_cast<int>(i) + 1;
        if (sheet.query.is_null(column)) continue;
        readings_.push_back({sheet.fields[i], sheet.query.real(column)});
      }
      extent.count = static_cast<std::uint32_t>(readings_.size()) - extent.begin;
    }
  }
}

std::span<const fleet::Reading> ReadingsReader::of(std::int64_t arrival) const {
  const auto at = static_cast<std::size_t>(arrival - first_arrival_);
  if (at >= extents_.size()) return {};
  return std::span{readings_}.subspan(extents_[at].begin, extents_[at].count);
}

}  // namespace fieldfare::store
