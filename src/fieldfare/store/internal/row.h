// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>
#include <optional>

#include "fieldfare/fleet/hearing.h"

namespace fieldfare::store {

/// A hearing as it stands in the table, under the ids of the store.
struct Row {
  enum Measure : std::uint8_t { kRssi, kSnr, kLqi, kNoise, kSupply, kMeasures };
  enum Has : std::uint8_t { kHasSequence = 1, kHasArrivedAt = 2, kImplausible = 4, kBatched = 8 };

  std::int64_t arrival = 0;
  std::int64_t time_ns = 0;
  std::int64_t arrived_ns = 0;
  std::uint64_t sequence = 0;
  std::uint32_t node = 0;
  std::uint32_t receiver = 0;
  std::uint8_t has = 0;       ///< bits of Has
  std::uint8_t measured = 0;  ///< bit 1 << Measure where `measures` holds one
  std::array<double, kMeasures> measures{};

  bool operator==(const Row&) const = default;
};

/// Node and receiver are left to the caller, who knows the ids.
Row row_of(const fleet::Hearing& hearing);

/// Likewise; leaves readings alone. Here for the sake of scans, where it is half
/// the work of a row.
inline void fill_hearing(const Row& row, fleet::Hearing& hearing) {
  const auto measure = [&](Row::Measure which) {
    return row.measured >> which & 1U ? std::optional{row.measures[which]} : std::nullopt;
  };
  hearing.time = {row.time_ns};
  hearing.arrived_at =
      row.has & Row::kHasArrivedAt ? std::optional{Instant{row.arrived_ns}} : std::nullopt;
  hearing.sequence = row.has & Row::kHasSequence ? std::optional{row.sequence} : std::nullopt;
  hearing.rssi_dbm = measure(Row::kRssi);
  hearing.snr_db = measure(Row::kSnr);
  hearing.lqi = measure(Row::kLqi);
  hearing.noise_dbm = measure(Row::kNoise);
  hearing.supply_v = measure(Row::kSupply);
  hearing.implausible = (row.has & Row::kImplausible) != 0;
  hearing.batched = (row.has & Row::kBatched) != 0;
}

}  // namespace fieldfare::store
