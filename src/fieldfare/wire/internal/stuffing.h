// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>

// What stands between two delimiters of a framing that keeps its delimiter out of
// frames, and back into the octets that were framed.
namespace fieldfare::wire::internal {

inline constexpr std::uint8_t kSlipEnd = 0xC0;
inline constexpr std::uint8_t kSlipEscape = 0xDB;
inline constexpr std::uint8_t kHdlcFlag = 0x7E;
inline constexpr std::uint8_t kHdlcEscape = 0x7D;
inline constexpr std::size_t kLongestCobsGroup = 254;

enum class Stuffing : std::uint8_t {
  sound,
  bad_escape,  ///< an escape that the framing doesn't have
  cut_escape,  ///< ends with the octet that begins an escape
  cut_group,   ///< COBS: a group says that it is longer than it is
};

/// How undoing went. `octets` were written; at `offset` stands what is wrong.
struct Unstuffed {
  Stuffing state = Stuffing::sound;
  std::size_t octets = 0;
  std::size_t offset = 0;
};

/// Undoes the escapes of what stands between two delimiters; it holds none.
/// Precondition: `out` has room for as many octets as are given.
/// Sources: as in wire/framing.h.
Unstuffed unstuff_slip(std::span<const std::uint8_t> between, std::uint8_t* out);
Unstuffed unstuff_hdlc(std::span<const std::uint8_t> between, std::uint8_t* out);
Unstuffed unstuff_cobs(std::span<const std::uint8_t> between, std::uint8_t* out);

}  // namespace fieldfare::wire::internal
