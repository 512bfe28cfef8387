// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/wire/internal/conversion.h"
#include "fieldfare/wire/internal/time_units.h"

namespace fieldfare::wire {

/// What a field of a binary body means, made ready for many frames.
struct FieldRule {
  FieldRule(const fleet::FrameFacts& frame, std::size_t index)
      : layout{&frame.fields[index]},
        field{static_cast<std::uint16_t>(index)},
        role{layout->role},
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
  bool is_linear;
  bool has_missing;
  std::int64_t missing;
  Linear linear;
  Converter converter;
  TimeUnits time_units;
};

}  // namespace fieldfare::wire
