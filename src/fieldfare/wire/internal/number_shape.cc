// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/number_shape.h"

#include <cmath>
#include <limits>

namespace fieldfare::wire {
namespace {

constexpr int kHalfFractionBits = 10;
constexpr int kHalfBias = 15;
constexpr unsigned kHalfSpecial = 31;           // exponent of infinity and NaN
constexpr double kHalfSubnormalStep = 0x1p-24;  // = 2^(1 - 15 - 10)

/// The whole number nearest to a double, as bits; nothing outside 64 bits.
std::optional<RawNumber> whole(const RawNumber& number) {
  if (!number.is_real) return number;
  const double nearest = std::round(number.real);
  if (nearest >= 0 && nearest < 0x1p64) {
    return RawNumber::of_unsigned(static_cast<std::uint64_t>(nearest));
  }
  if (nearest < 0 && nearest >= -0x1p63) {
    return RawNumber::of_signed(static_cast<std::int64_t>(nearest));
  }
  return std::nullopt;
}

std::optional<std::uint64_t> digits_for(std::uint64_t value) {
  std::uint64_t bits = 0;
  for (unsigned shift = 0; value != 0; shift += 4, value /= 10) {
    if (shift == 64) return std::nullopt;
    bits |= value % 10 << shift;
  }
  return bits;
}

}  // namespace

double half_value(std::uint16_t half) {
  const unsigned exponent = half >> kHalfFractionBits & kHalfSpecial;
  const unsigned fraction = half & ((1U << kHalfFractionBits) - 1);
  double size = 0;
  if (exponent == 0) {
    size = fraction * kHalfSubnormalStep;
  } else if (exponent == kHalfSpecial) {
    size = fraction == 0 ? std::numeric_limits<double>::infinity()
                         : std::numeric_limits<double>::quiet_NaN();
  } else {
    size = std::ldexp(fraction + (1U << kHalfFractionBits),
                      static_cast<int>(exponent) - kHalfBias - kHalfFractionBits);
  }
  return half >> 15 != 0 ? -size : size;
}

std::optional<std::uint16_t> nearest_half(double value) {
  constexpr double kTooLarge = 65'520;  // halfway from the largest, 65504, to the next
  const double size = std::abs(value);
  unsigned bits = 0;
  if (std::isnan(value)) {
    bits = 0x7E00;
  } else if (!(size < kTooLarge)) {
    return std::nullopt;
  } else if (size < 0x1p-14) {
    bits = static_cast<unsigned>(std::nearbyint(size / kHalfSubnormalStep));
  } else {
    // Rounded up to the next power of two, the fraction carries into the exponent.
    const int exponent = std::ilogb(size);
    const auto fraction =
        static_cast<unsigned>(std::nearbyint(std::ldexp(size, kHalfFractionBits - exponent)));
    bits = (static_cast<unsigned>(exponent + kHalfBias - 1) << kHalfFractionBits) + fraction;
  }
  return static_cast<std::uint16_t>(bits | (std::signbit(value) ? 0x8000U : 0U));
}

NumberShape::NumberShape(const fleet::NumberForm& form)
    : kind_{form.kind},
      is_little_{form.order == fleet::ByteOrder::little},
      octets_{static_cast<unsigned>(form.octets)},
      octets_mask_{~std::uint64_t{0} >> (64 - 8 * octets_)} {
  const fleet::BitSpan all{0, 8 * form.octets - 1};
  const fleet::BitSpan span = form.bits.value_or(all);
  low_ = static_cast<unsigned>(span.low);
  unused_bits_ = 64 - static_cast<unsigned>(span.high - span.low + 1);
}

std::uint64_t NumberShape::load_slowly(std::span<const std::uint8_t> frame, std::size_t at) const {
  std::uint64_t word = 0;
  for (std::size_t i = 0; i < octets_; ++i) {
    word = word << 8 | frame[is_little_ ? at + octets_ - 1 - i : at + i];
  }
  return word;
}

double NumberShape::real(std::uint64_t bits) const {
  if (octets_ == 8) return std::bit_cast<double>(bits);
  if (octets_ == 4) return std::bit_cast<float>(static_cast<std::uint32_t>(bits));
  return half_value(static_cast<std::uint16_t>(bits));
}

std::optional<std::uint64_t> NumberShape::decimal(std::uint64_t bits) {
  std::uint64_t value = 0;
  for (unsigned shift = 64; shift > 0; shift -= 4) {
    const std::uint64_t digit = bits >> (shift - 4) & 0xF;
    if (digit > 9) return std::nullopt;
    value = value * 10 + digit;
  }
  return value;
}

std::optional<std::uint64_t> NumberShape::bits_for(const RawNumber& number) const {
  if (kind_ == fleet::NumberKind::real) {
    const double value = number.value();
    if (octets_ == 2) return nearest_half(value);
    if (octets_ == 8) return std::bit_cast<std::uint64_t>(value);
    if (std::isfinite(value) && std::abs(value) > std::numeric_limits<float>::max()) {
      return std::nullopt;
    }
    return std::bit_cast<std::uint32_t>(static_cast<float>(value));
  }
  const auto integer = whole(number);
  if (!integer) return std::nullopt;
  if (kind_ == fleet::NumberKind::signed_integer) {
    const auto value = static_cast<std::int64_t>(integer->integer);
    if (!integer->is_negative && value < 0) return std::nullopt;  // beyond 2^63
    const auto bits = integer->integer << unused_bits_;
    if (static_cast<std::int64_t>(bits) >> unused_bits_ != value) return std::nullopt;
    return bits >> unused_bits_;
  }
  if (integer->is_negative) return std::nullopt;
  auto bits = std::optional{integer->integer};
  if (kind_ == fleet::NumberKind::bcd) bits = digits_for(integer->integer);
  return bits && has_room_for(*bits) ? bits : std::nullopt;
}

void NumberShape::put(std::span<std::uint8_t> frame, std::size_t at, std::uint64_t bits) const {
  const std::uint64_t mask = ~std::uint64_t{0} >> unused_bits_ << low_;
  const std::uint64_t word = (load(frame, at) & ~mask) | (bits << low_ & mask);
  for (std::size_t i = 0; i < octets_; ++i) {
    frame[is_little_ ? at + i : at + octets_ - 1 - i] = static_cast<std::uint8_t>(word >> (8 * i));
  }
}

}  // namespace fieldfare::wire
