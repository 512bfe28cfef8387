// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/wire/body_codec.h"
#include "fieldfare/wire/internal/conversion.h"
#include "fieldfare/wire/internal/time_units.h"

namespace fieldfare::wire {

using Quantity = std::optional<double> ReportValues::*;

/// Where a report keeps the one number of a role; null for other roles.
constexpr Quantity quantity_of(fleet::FieldRole role) {
  switch (role) {
    case fleet::FieldRole::rssi:
      return &ReportValues::rssi_dbm;
    case fleet::FieldRole::snr:
      return &ReportValues::snr_db;
    case fleet::FieldRole::lqi:
      return &ReportValues::lqi;
    case fleet::FieldRole::noise:
      return &ReportValues::noise_dbm;
    case fleet::FieldRole::supply:
      return &ReportValues::supply_v;
    default:
      return nullptr;
  }
}

/// What a field of a binary body means, made ready for many frames.
struct FieldRule {
  FieldRule(const fleet::FrameFacts& frame, std::size_t index)
      : layout{&frame.fields[index]},
        field{static_cast<std::uint16_t>(index)},
        role{layout->role},
        quantity{quantity_of(role)},
        is_linear{layout->conversion.then.index() == 0},
        has_missing{layout->missing && role != fleet::FieldRole::part},
        missing{layout->missing.value_or(0)},
        linear{layout->conversion.scale, layout->conversion.offset},
        converter{layout->conversion},
        time_units{layout->conversion} {}

  bool is_missing(const RawNumber& raw) const { return has_missing && raw.equals(missing); }

  const fleet::FieldLayout* layout;
  std::uint16_t field;
  fleet::FieldRole role;
  Quantity quantity;
  bool is_linear;
  bool has_missing;
  std::int64_t missing;
  Linear linear;
  Converter converter;
  TimeUnits time_units;
};

}  // namespace fieldfare::wire
