// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <bit>
#include <cstddef>
#include <cstdint>
#include <cstring>

namespace fieldfare::wire {

// Eight bytes looked at together, one in each octet of a word (SWAR). The first
// byte of the text is the lowest octet, whatever the machine.

inline constexpr std::uint64_t kOctetOnes = 0x0101010101010101;
inline constexpr std::uint64_t kOctetTops = 0x8080808080808080;
inline constexpr std::size_t kOctets = sizeof(std::uint64_t);

constexpr std::uint64_t every_octet(char c) { return kOctetOnes * static_cast<unsigned char>(c); }

/// Reads exactly eight bytes.
inline std::uint64_t load_octets(const char* at) {
  std::uint64_t word = 0;
  std::memcpy(&word, at, sizeof word);
  if constexpr (std::endian::native == std::endian::big) word = __builtin_bswap64(word);
  return word;
}

/// The top bit of each octet that equals `c`, exactly.
constexpr std::uint64_t octets_equal(std::uint64_t word, char c) {
  const std::uint64_t differing = word ^ every_octet(c);
  return ~(((differing & ~kOctetTops) + ~kOctetTops) | differing) & kOctetTops;
}

/// The top bit of each octet that is a control character below the blank. For
/// ASCII alone; of the rest it may set bits or not.
constexpr std::uint64_t octets_below_blank(std::uint64_t word) {
  return ~((word & ~kOctetTops) + every_octet(0x80 - ' ')) & kOctetTops;
}

/// The place of the lowest octet of a mask of top bits; the mask is not 0.
constexpr std::size_t first_octet(std::uint64_t tops) {
  return static_cast<std::size_t>(std::countr_zero(tops)) / 8;
}

}  // namespace fieldfare::wire
