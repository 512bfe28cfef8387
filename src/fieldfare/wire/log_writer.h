// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/fleet/hearing.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/wire/log_format.h"

namespace fieldfare::wire {

/// Writes hearings as rows that LogParser reads back as they were, numbers in
/// their shortest form that does so. `labels` must outlive the writer.
class LogWriter {
 public:
  /// `columns` are the columns of CSV, in this order, or the keys of JSON Lines;
  /// what a hearing has beyond them is left out, so give `time` and `node`.
  LogWriter(LogFormat format, const std::vector<std::string>& columns, fleet::Labels& labels);

  /// The header row of CSV with its line feed; nothing for JSON Lines.
  std::string header() const;

  /// Appends one row with its line feed.
  void append(const fleet::Hearing& hearing, std::string& out) const;

 private:
  struct Column {
    std::string name;
    ColumnKind kind;
    fleet::FieldIndex field;
  };
  /// A value as text; empty where it was not given.
  struct Value {
    std::string text;
    bool is_text = false;  ///< to be quoted in JSON
  };

  Value value_of(const Column& column, const fleet::Hearing& hearing) const;
  void append_csv(const fleet::Hearing& hearing, std::string& out) const;
  void append_json(const fleet::Hearing& hearing, std::string& out) const;

  LogFormat format_;
  std::vector<Column> columns_;
  const fleet::Labels& labels_;
};

}  // namespace fieldfare::wire
