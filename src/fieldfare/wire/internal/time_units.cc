// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/time_units.h"

#include <cmath>
#include <cstdlib>

namespace fieldfare::wire {
namespace {

constexpr std::int64_t kNsPerSecond = 1'000'000'000;
constexpr double kMostNs = 0x1p63;

std::optional<std::int64_t> rounded(double ns) {
  if (!(std::abs(ns) < kMostNs)) return std::nullopt;
  return static_cast<std::int64_t>(std::round(ns));
}

std::optional<std::int64_t> sum(std::int64_t a, std::int64_t b) {
  std::int64_t total = 0;
  if (__builtin_add_overflow(a, b, &total)) return std::nullopt;
  return total;
}

std::optional<std::int64_t> product(std::int64_t a, std::int64_t b) {
  std::int64_t result = 0;
  if (__builtin_mul_overflow(a, b, &result)) return std::nullopt;
  return result;
}

/// `part` * `per` / `of`, rounded; 0 <= part < of, and the product fits.
std::int64_t share(std::int64_t part, std::int64_t per, std::int64_t of) {
  return (part * per + of / 2) / of;
}

struct Split {
  std::int64_t whole = 0;
  std::int64_t rest = 0;  ///< not negative
};

Split split(std::int64_t value, std::int64_t by) {
  Split parts{value / by, value % by};
  if (parts.rest < 0) {
    --parts.whole;
    parts.rest += by;
  }
  return parts;
}

/// A double that is meant to be whole, but for its last digits.
std::int64_t whole_or_0(double value) {
  const double nearest = std::round(value);
  const bool is_whole = nearest != 0 && std::abs(value - nearest) <= 1e-12 * std::abs(nearest);
  return is_whole && std::abs(nearest) < 0x1p53 ? static_cast<std::int64_t>(nearest) : 0;
}

}  // namespace

TimeUnits::TimeUnits(const fleet::Conversion& conversion)
    : scale_s_{conversion.scale},
      unit_ns_{whole_or_0(conversion.scale * 1e9)},
      offset_ns_{rounded(conversion.offset * 1e9).value_or(0)} {
  const std::int64_t per_second = whole_or_0(1 / conversion.scale);
  if (unit_ns_ == 0 && per_second > 0 && per_second < kNsPerSecond) units_per_s_ = per_second;
}

std::optional<std::int64_t> TimeUnits::ns_of_whole(std::int64_t units) const {
  if (unit_ns_ != 0) return product(units, unit_ns_);
  if (units_per_s_ == 0) return rounded(static_cast<double>(units) * scale_s_ * 1e9);
  const Split seconds = split(units, units_per_s_);
  const auto whole = product(seconds.whole, kNsPerSecond);
  return whole ? sum(*whole, share(seconds.rest, kNsPerSecond, units_per_s_)) : std::nullopt;
}

std::optional<std::int64_t> TimeUnits::ns(const RawNumber& raw) const {
  std::optional<std::int64_t> span;
  if (raw.is_real) {
    if (!(std::abs(raw.real) < kMostNs)) return std::nullopt;
    const double whole = std::floor(raw.real);
    const auto part = rounded((raw.real - whole) * scale_s_ * 1e9);
    span = ns_of_whole(static_cast<std::int64_t>(whole));
    if (span && part) span = sum(*span, *part);
  } else {
    const auto units = static_cast<std::int64_t>(raw.integer);
    if (units < 0 && !raw.is_negative) return std::nullopt;  // beyond 2^63
    span = ns_of_whole(units);
  }
  return span ? sum(*span, offset_ns_) : std::nullopt;
}

std::optional<RawNumber> TimeUnits::raw(std::int64_t ns) const {
  std::int64_t span = 0;
  if (__builtin_sub_overflow(ns, offset_ns_, &span)) return std::nullopt;
  if (unit_ns_ != 0) {
    if (span % unit_ns_ == 0) return RawNumber::of_signed(span / unit_ns_);
    const Split units = split(span, std::abs(unit_ns_));
    const double part = static_cast<double>(units.rest) / static_cast<double>(std::abs(unit_ns_));
    const double sign = unit_ns_ < 0 ? -1 : 1;
    return RawNumber::of_real(sign * (static_cast<double>(units.whole) + part));
  }
  if (units_per_s_ == 0) return RawNumber::of_real(static_cast<double>(span) / 1e9 / scale_s_);
  const Split seconds = split(span, kNsPerSecond);
  const auto whole = product(seconds.whole, units_per_s_);
  if (!whole) return std::nullopt;
  const auto units = sum(*whole, share(seconds.rest, units_per_s_, kNsPerSecond));
  return units ? std::optional{RawNumber::of_signed(*units)} : std::nullopt;
}

}  // namespace fieldfare::wire
