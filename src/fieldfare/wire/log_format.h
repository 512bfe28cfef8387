// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

namespace fieldfare::wire {

/// The two ways a log of hearings is written; see docs/formats/log.md.
enum class LogFormat : std::uint8_t { csv, json_lines };

/// What a column, or a key of JSON Lines, means.
enum class ColumnKind : std::uint8_t {
  time,
  node,
  receiver,
  sequence,
  rssi_dbm,
  snr_db,
  lqi,
  noise_dbm,
  arrived_at,
  supply_v,
  reading,        ///< `name_unit` with a unit that is known: must hold a number
  reading_maybe,  ///< `name_something`: a reading where it holds a number, else left out
  ignored
};

/// The meaning of a column by its name alone, so that it does not depend on the
/// rows that come first.
ColumnKind column_kind(std::string_view name);

/// The name of a column that has a fixed one: every kind from time to supply_v.
std::string_view column_name(ColumnKind kind);

/// The recognised name that `name` may be a slip of: the same but for case, or
/// one or two letters apart. Nothing for recognised names themselves.
std::optional<std::string_view> nearest_column(std::string_view name);

/// What a value can be in its unit; anything else was never measured.
struct PlausibleRange {
  double low;
  double high;
};

/// The range for a column of this name, everything where none is known.
PlausibleRange plausible_range(std::string_view column);

}  // namespace fieldfare::wire
