// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/stuffing.h"

#include <cstring>

namespace fieldfare::wire::internal {
namespace {

// RFC 1055.
constexpr std::uint8_t kEscapedEnd = 0xDC;
constexpr std::uint8_t kEscapedEscape = 0xDD;
// RFC 1662.
constexpr std::uint8_t kFlip = 0x20;

/// Copies runs and has each escape undone by `undo`, which says whether the octet
/// behind the escape is one that the framing has.
template <class Undo>
Unstuffed unstuff(std::span<const std::uint8_t> between, std::uint8_t escape, std::uint8_t* out,
                  Undo undo) {
  const std::uint8_t* const begin = between.data();
  const std::uint8_t* const end = begin + between.size();
  const std::uint8_t* at = begin;
  std::uint8_t* to = out;
  const auto outcome = [&](Stuffing state) {
    return Unstuffed{state, static_cast<std::size_t>(to - out),
                     static_cast<std::size_t>(at - begin)};
  };
  while (at != end) {
    if (*at != escape) {
      *to++ = *at++;
      continue;
    }
    if (++at == end) return outcome(Stuffing::cut_escape);
    if (!undo(*at, *to)) return outcome(Stuffing::bad_escape);
    ++at;
    ++to;
  }
  return outcome(Stuffing::sound);
}

}  // namespace

Unstuffed unstuff_slip(std::span<const std::uint8_t> between, std::uint8_t* out) {
  return unstuff(between, kSlipEscape, out, [](std::uint8_t octet, std::uint8_t& to) {
    to = octet == kEscapedEnd ? kSlipEnd : kSlipEscape;
    return octet == kEscapedEnd || octet == kEscapedEscape;
  });
}

Unstuffed unstuff_hdlc(std::span<const std::uint8_t> between, std::uint8_t* out) {
  return unstuff(between, kHdlcEscape, out, [](std::uint8_t octet, std::uint8_t& to) {
    to = octet ^ kFlip;
    return true;
  });
}

Unstuffed unstuff_cobs(std::span<const std::uint8_t> between, std::uint8_t* out) {
  std::size_t written = 0;
  for (std::size_t at = 0; at < between.size();) {
    const std::size_t code = between[at];
    const std::size_t next = at + code;
    if (next > between.size()) return {Stuffing::cut_group, written, at};
    if (code > 1) std::memcpy(out + written, between.data() + at + 1, code - 1);
    written += code - 1;
    at = next;
    if (code <= kLongestCobsGroup && at < between.size()) out[written++] = 0;
  }
  return {Stuffing::sound, written, between.size()};
}

}  // namespace fieldfare::wire::internal
