// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/log_format.h"

#include <algorithm>
#include <array>
#include <limits>
#include <string>
#include <vector>

namespace fieldfare::wire {
namespace {

struct NamedKind {
  std::string_view name;
  ColumnKind kind;
};
constexpr std::array<NamedKind, 10> kFixedColumns = {{
    {"time", ColumnKind::time},
    {"node", ColumnKind::node},
    {"receiver", ColumnKind::receiver},
    {"seq", ColumnKind::sequence},
    {"rssi_dbm", ColumnKind::rssi_dbm},
    {"snr_db", ColumnKind::snr_db},
    {"lqi", ColumnKind::lqi},
    {"noise_dbm", ColumnKind::noise_dbm},
    {"arrived_at", ColumnKind::arrived_at},
    {"supply_v", ColumnKind::supply_v},
}};

/// Endings that are units: SI symbols in small letters and what is usual beside
/// them, with `raw` and `count` for numbers that have none.
constexpr auto kUnits = std::to_array<std::string_view>(
    {"a",   "bar", "bool", "bpm", "c",   "cm",  "count", "d",   "db", "dba", "dbi", "dbm",
     "deg", "f",   "g",    "h",   "hpa", "hz",  "j",     "k",   "kg", "khz", "km",  "kohm",
     "kpa", "kv",  "kw",   "kwh", "l",   "lux", "m",     "m2",  "m3", "ma",  "mah", "mbar",
     "mg",  "mhz", "min",  "mj",  "ml",  "mm",  "ms",    "mv",  "mw", "n",   "nm",  "ns",
     "ohm", "pa",  "pct",  "ph",  "ppb", "ppm", "rad",   "raw", "rh", "rpm", "s",   "ua",
     "uah", "um",  "us",   "uv",  "uw",  "v",   "va",    "var", "w",  "wh"});

std::string_view unit_of(std::string_view name) {
  const std::size_t bar = name.rfind('_');
  if (bar == std::string_view::npos || bar == 0) return {};
  return name.substr(bar + 1);
}

bool is_unit(std::string_view text) {
  return std::find(kUnits.begin(), kUnits.end(), text) != kUnits.end();
}

std::string lower_case(std::string_view text) {
  std::string lower{text};
  for (char& c : lower) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return lower;
}

/// Letters to change, put in or take out (Levenshtein distance).
std::size_t letters_apart(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j < row.size(); ++j) row[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t changed = diagonal + (a[i - 1] == b[j - 1] ? 0 : 1);
      diagonal = row[j];
      row[j] = std::min({changed, row[j] + 1, row[j - 1] + 1});
    }
  }
  return row.back();
}

struct RangeRule {
  std::string_view unit;
  std::string_view begins;  ///< the name's beginning; empty for any
  PlausibleRange range;
};

/// The first rule that fits counts.
constexpr auto kRanges = std::to_array<RangeRule>({
    // More than extra-low voltage on a battery, or its poles swapped and still
    // sending. Common practice.
    {"v", "supply", {0, 60}},
    // Absolute zero is -273.15 degC by definition of the unit (SI Brochure,
    // 9th edition, 2.3.1, from memory); above it, what no probe survives. Common practice.
    {"c", "", {-273.15, 2000}},
    {"k", "", {0, 2273.15}},
    // Relative humidity sensors overshoot in condensation and drift, but not so
    // far. Common practice.
    {"pct", "humidity", {-5, 130}},
    // Parts per million of a whole, by definition; electrochemical cells read
    // somewhat below zero. Common practice.
    {"ppm", "", {-1000, 1e6}},
    // Thermal noise in 1 Hz at 290 K is -174 dBm (Boltzmann constant); the upper
    // end is ten megawatts. Common practice.
    {"dbm", "", {-250, 100}},
    {"db", "snr", {-150, 150}},
    // The link quality indication is one octet, 0x00 to 0xff (IEEE Std 802.15.4,
    // from memory).
    {"", "lqi", {0, 255}},
});

}  // namespace

ColumnKind column_kind(std::string_view name) {
  for (const NamedKind& fixed : kFixedColumns) {
    if (fixed.name == name) return fixed.kind;
  }
  const std::string_view unit = unit_of(name);
  if (unit.empty()) return ColumnKind::ignored;
  return is_unit(unit) ? ColumnKind::reading : ColumnKind::reading_maybe;
}

std::string_view column_name(ColumnKind kind) {
  for (const NamedKind& fixed : kFixedColumns) {
    if (fixed.kind == kind) return fixed.name;
  }
  return {};
}

std::optional<std::string_view> nearest_column(std::string_view name) {
  constexpr std::size_t kLongestCompared = 32;  // no recognised name comes near
  if (name.size() > kLongestCompared) return std::nullopt;
  const std::string lower = lower_case(name);
  std::optional<std::string_view> nearest;
  std::size_t nearest_apart = std::numeric_limits<std::size_t>::max();
  for (const NamedKind& fixed : kFixedColumns) {
    if (fixed.name == name) return std::nullopt;
    const std::size_t apart = letters_apart(lower, fixed.name);
    const std::size_t allowed = fixed.name.size() >= 6 ? 2 : 1;
    if (apart <= allowed && apart < nearest_apart) {
      nearest = fixed.name;
      nearest_apart = apart;
    }
  }
  return nearest;
}

PlausibleRange plausible_range(std::string_view column) {
  const std::string_view unit = unit_of(column);
  for (const RangeRule& rule : kRanges) {
    if (rule.unit == unit && column.starts_with(rule.begins)) return rule.range;
  }
  constexpr double kInfinity = std::numeric_limits<double>::infinity();
  return {-kInfinity, kInfinity};
}

}  // namespace fieldfare::wire
