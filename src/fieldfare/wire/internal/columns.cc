// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/columns.h"

#include <fmt/format.h>

#include "fieldfare/wire/excerpt.h"

namespace fieldfare::wire {
namespace {

bool is_reading(ColumnKind kind) {
  return kind == ColumnKind::reading || kind == ColumnKind::reading_maybe;
}

void note_doubts(const Column& column, RowLog& log) {
  const std::string shown = excerpt(column.name, fleet::Labels::kLongestName);
  if (const auto nearest = nearest_column(column.name)) {
    log.note(fmt::format("`{}` is {}", shown,
                         column.kind == ColumnKind::ignored ? "left out" : "taken as a reading"),
             fmt::format("`{}`, if that was meant", *nearest));
  } else if (column.kind == ColumnKind::ignored) {
    log.note(fmt::format("`{}` is left out", shown),
             "a name that ends in a unit, such as `depth_m`");
  } else if (column.kind == ColumnKind::reading_maybe) {
    log.note(fmt::format("`{}` ends in no unit that is known: its numbers are taken as a reading, "
                         "anything else is left out",
                         shown),
             "a name that ends in a unit, such as `depth_m`");
  }
}

}  // namespace

Column make_column(std::string_view name, fleet::Labels& labels, RowLog& log) {
  Column column{std::string{name}, column_kind(name), {}, plausible_range(name)};
  if (is_reading(column.kind)) {
    const std::optional<fleet::FieldIndex> field = labels.field(name);
    if (field) {
      column.field = *field;
    } else {
      column.kind = ColumnKind::ignored;
    }
  }
  note_doubts(column, log);
  return column;
}

}  // namespace fieldfare::wire
