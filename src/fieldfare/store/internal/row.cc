// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/store/internal/row.h"

#include <cmath>
#include <optional>

namespace fieldfare::store {
namespace {

constexpr std::array<std::optional<double> fleet::Hearing::*, Row::kMeasures> kMembers = {
    &fleet::Hearing::rssi_dbm, &fleet::Hearing::snr_db, &fleet::Hearing::lqi,
    &fleet::Hearing::noise_dbm, &fleet::Hearing::supply_v};

}  // namespace

Row row_of(const fleet::Hearing& hearing) {
  Row row;
  row.time_ns = hearing.time.ns;
  if (hearing.sequence) {
    row.sequence = *hearing.sequence;
    row.has |= Row::kHasSequence;
  }
  if (hearing.arrived_at) {
    row.arrived_ns = hearing.arrived_at->ns;
    row.has |= Row::kHasArrivedAt;
  }
  if (hearing.implausible) row.has |= Row::kImplausible;
  if (hearing.batched) row.has |= Row::kBatched;
  for (std::size_t i = 0; i < kMembers.size(); ++i) {
    const std::optional<double>& value = hearing.*kMembers[i];
    // A column can't hold NaN (SQLite makes it NULL), nor a zero's sign.
    if (!value || std::isnan(*value)) continue;
    row.measures[i] = *value + 0.0;
    row.measured = static_cast<std::uint8_t>(row.measured | 1U << i);
  }
  return row;
}

}  // namespace fieldfare::store
