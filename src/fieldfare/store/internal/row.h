// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>

#include "fieldfare/fleet/hearing.h"

namespace fieldfare::store {

/// A hearing as it stands in the table, under the ids of the store.
struct Row {
  enum Measure : std::uint8_t { kRssi, kSnr, kLqi, kNoise, kSupply, kMeasures };
  enum Has : std::uint8_t { kHasSequence = 1, kHasArrivedAt = 2, kImplausible = 4 };

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

/// Likewise; without readings.
fleet::Hearing hearing_of(const Row& row);

}  // namespace fieldfare::store
