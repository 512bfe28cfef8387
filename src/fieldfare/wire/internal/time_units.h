// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/wire/internal/raw_number.h"

namespace fieldfare::wire {

/// Spans of time as sent: a number times `scale`, plus `offset`, both in seconds.
/// Whole numbers are exact where the unit is a whole number of nanoseconds, and to
/// the nearest nanosecond where a second is a whole number of units, as with 1/32768.
class TimeUnits {
 public:
  TimeUnits() = default;
  explicit TimeUnits(const fleet::Conversion& conversion);

  /// Nothing beyond the range of Duration.
  std::optional<std::int64_t> ns(const RawNumber& raw) const;
  /// The number to send, whole where the units allow it.
  std::optional<RawNumber> raw(std::int64_t ns) const;

 private:
  std::optional<std::int64_t> ns_of_whole(std::int64_t units) const;

  double scale_s_ = 1;
  std::int64_t unit_ns_ = 1'000'000'000;  ///< 0: not whole
  std::int64_t units_per_s_ = 0;          ///< 0: not whole, or not needed
  std::int64_t offset_ns_ = 0;
};

}  // namespace fieldfare::wire
