// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <bit>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <optional>
#include <span>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/wire/internal/raw_number.h"

namespace fieldfare::wire {

/// IEEE 754 binary16, to and from double; nothing where the value is too large.
double half_value(std::uint16_t half);
std::optional<std::uint16_t> nearest_half(double value);

/// How a number stands in octets, made ready for reading and writing many.
class NumberShape {
 public:
  NumberShape() = default;
  explicit NumberShape(const fleet::NumberForm& form);

  std::size_t octets() const { return octets_; }
  fleet::NumberKind kind() const { return kind_; }
  /// Hex digits that show all of the number.
  std::uint8_t digits() const { return static_cast<std::uint8_t>((64U - unused_bits_ + 3) / 4); }

  /// The bits that are looked at. Precondition: the number lies within `frame`.
  std::uint64_t bits(std::span<const std::uint8_t> frame, std::size_t at) const {
    return load(frame, at) << (unused_bits_ - low_) >> unused_bits_;
  }

  /// The number, but for decimal digits, which need decimal().
  RawNumber number(std::uint64_t bits) const {
    if (kind_ == fleet::NumberKind::unsigned_integer) return RawNumber::of_unsigned(bits);
    if (kind_ == fleet::NumberKind::signed_integer) {
      return RawNumber::of_signed(static_cast<std::int64_t>(bits << unused_bits_) >> unused_bits_);
    }
    return RawNumber::of_real(real(bits));
  }

  /// Packed decimal digits as a number; nothing where one of them is none.
  static std::optional<std::uint64_t> decimal(std::uint64_t bits);

  /// The bits that stand for a number: whole where the shape wants it, rounded.
  /// Nothing where it has no room.
  std::optional<std::uint64_t> bits_for(const RawNumber& number) const;
  bool has_room_for(std::uint64_t bits) const {
    return bits << unused_bits_ >> unused_bits_ == bits;
  }

  /// Writes bits over those that are looked at and leaves the rest as they are.
  void put(std::span<std::uint8_t> frame, std::size_t at, std::uint64_t bits) const;

 private:
  std::uint64_t load(std::span<const std::uint8_t> frame, std::size_t at) const {
    if (frame.size() < sizeof(std::uint64_t)) return load_slowly(frame, at);
    // Eight octets in one go, from where the number begins or, near the frame's
    // end, up to where it ends.
    const bool near_end = at + sizeof(std::uint64_t) > frame.size();
    std::uint64_t word = 0;
    std::memcpy(&word, frame.data() + (near_end ? frame.size() - sizeof word : at), sizeof word);
    const std::size_t before = near_end ? at - (frame.size() - sizeof word) : 0;
    if (is_little_) {
      word = from_little(word) >> (8 * before);
      return word & octets_mask_;
    }
    word = swap(from_little(word)) << (8 * before);
    return word >> (64 - 8 * octets_);
  }
  std::uint64_t load_slowly(std::span<const std::uint8_t> frame, std::size_t at) const;
  double real(std::uint64_t bits) const;

  static std::uint64_t swap(std::uint64_t word) { return __builtin_bswap64(word); }
  static std::uint64_t from_little(std::uint64_t word) {
    if constexpr (std::endian::native == std::endian::big) return swap(word);
    return word;
  }

  fleet::NumberKind kind_ = fleet::NumberKind::unsigned_integer;
  bool is_little_ = false;
  unsigned octets_ = 1;
  unsigned low_ = 0;           ///< the lowest bit looked at
  unsigned unused_bits_ = 56;  ///< 64 less those looked at
  std::uint64_t octets_mask_ = 0xFF;
};

}  // namespace fieldfare::wire
