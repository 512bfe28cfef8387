// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/log_writer.h"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <optional>

#include "fieldfare/base/instant.h"

namespace fieldfare::wire {
namespace {

template <class Number>
std::string shortest(Number value) {
  std::array<char, 32> digits{};
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), value).ptr;
  return {digits.data(), end};
}

std::string if_given(const std::optional<double>& value) {
  return value ? shortest(*value) : std::string{};
}

void append_csv_cell(std::string_view text, std::string& out) {
  const bool blank_edge = !text.empty() && (text.front() == ' ' || text.back() == ' ');
  if (text.find_first_of(",\"\r\n") == std::string_view::npos && !blank_edge) {
    out += text;
    return;
  }
  out += '"';
  for (const char c : text) {
    if (c == '"') out += '"';
    out += c;
  }
  out += '"';
}

/// RFC 8259 section 7: quotes, backslashes and control characters are escaped.
void append_json_text(std::string_view text, std::string& out) {
  out += '"';
  for (const char c : text) {
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (static_cast<unsigned char>(c) < 0x20) {
      out += fmt::format("\\u{:04x}", static_cast<unsigned>(c));
    } else {
      out += c;
    }
  }
  out += '"';
}

}  // namespace

LogWriter::LogWriter(LogFormat format, const std::vector<std::string>& columns,
                     fleet::Labels& labels)
    : format_{format}, labels_{labels} {
  for (const std::string& name : columns) {
    Column column{name, column_kind(name), {}};
    if (column_name(column.kind).empty()) {
      const std::optional<fleet::FieldIndex> field = labels.field(name);
      if (!field) continue;
      column.field = *field;
    }
    columns_.push_back(column);
  }
}

std::string LogWriter::header() const {
  if (format_ == LogFormat::json_lines) return {};
  std::string out;
  for (const Column& column : columns_) {
    if (!out.empty()) out += ',';
    append_csv_cell(column.name, out);
  }
  return out + '\n';
}

void LogWriter::append(const fleet::Hearing& hearing, std::string& out) const {
  if (format_ == LogFormat::csv) {
    append_csv(hearing, out);
  } else {
    append_json(hearing, out);
  }
  out += '\n';
}

void LogWriter::append_csv(const fleet::Hearing& hearing, std::string& out) const {
  bool first = true;
  for (const Column& column : columns_) {
    if (!first) out += ',';
    first = false;
    append_csv_cell(value_of(column, hearing).text, out);
  }
}

void LogWriter::append_json(const fleet::Hearing& hearing, std::string& out) const {
  char before = '{';
  for (const Column& column : columns_) {
    const Value value = value_of(column, hearing);
    if (value.text.empty()) continue;
    out += before;
    before = ',';
    append_json_text(column.name, out);
    out += ':';
    if (value.is_text) {
      append_json_text(value.text, out);
    } else {
      out += value.text;
    }
  }
  if (before == '{') out += before;
  out += '}';
}

LogWriter::Value LogWriter::value_of(const Column& column, const fleet::Hearing& hearing) const {
  switch (column.kind) {
    case ColumnKind::time:
      return {to_rfc3339(hearing.time), true};
    case ColumnKind::arrived_at:
      return {hearing.arrived_at ? to_rfc3339(*hearing.arrived_at) : "", true};
    case ColumnKind::node:
      return {labels_.label(hearing.node).name, true};
    case ColumnKind::receiver:
      return {labels_.receiver_name(hearing.receiver), true};
    case ColumnKind::sequence:
      return {hearing.sequence ? shortest(*hearing.sequence) : ""};
    case ColumnKind::rssi_dbm:
      return {if_given(hearing.rssi_dbm)};
    case ColumnKind::snr_db:
      return {if_given(hearing.snr_db)};
    case ColumnKind::lqi:
      return {if_given(hearing.lqi)};
    case ColumnKind::noise_dbm:
      return {if_given(hearing.noise_dbm)};
    case ColumnKind::supply_v:
      return {if_given(hearing.supply_v)};
    default:
      break;
  }
  for (const fleet::Reading& reading : hearing.readings) {
    if (reading.field == column.field) return {shortest(reading.value)};
  }
  return {};
}

}  // namespace fieldfare::wire
