// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/framing.h"

#include <algorithm>

#include "fieldfare/base/crc.h"
#include "fieldfare/wire/internal/stuffing.h"

namespace fieldfare::wire {
namespace {

using namespace internal;

// RFC 1055.
constexpr std::uint8_t kEscapedEnd = 0xDC;
constexpr std::uint8_t kEscapedEscape = 0xDD;
// RFC 1662.
constexpr std::uint8_t kFlip = 0x20;

Failure<FramingError> fault(FramingFault what, std::size_t offset) {
  return Failure{FramingError{what, offset}};
}

std::uint16_t fcs16(std::span<const std::uint8_t> octets) {
  static const Crc crc{*find_crc_model("crc-16/ibm-sdlc")};
  return static_cast<std::uint16_t>(crc.of(octets));
}

void append_escaped(Octets& out, std::uint8_t octet) {
  if (octet == kHdlcFlag || octet == kHdlcEscape) {
    out.push_back(kHdlcEscape);
    octet ^= kFlip;
  }
  out.push_back(octet);
}

/// Undoes a whole frame from octet `first` to its last, which is a delimiter.
Result<Octets, FramingError> between_delimiters(std::span<const std::uint8_t> frame,
                                                std::size_t first,
                                                Unstuffed (*unstuff)(std::span<const std::uint8_t>,
                                                                     std::uint8_t*)) {
  const std::size_t last = frame.size() - 1;
  const auto inner = frame.subspan(first, last - first);
  const auto until = std::find(inner.begin(), inner.end(), frame[last]);
  const auto length = static_cast<std::size_t>(until - inner.begin());
  Octets out(length);
  const Unstuffed undone = unstuff(inner.first(length), out.data());
  const std::size_t offset = first + undone.offset;
  const bool is_cut_early = until != inner.end();
  switch (undone.state) {
    case Stuffing::sound:
      break;
    case Stuffing::bad_escape:
      return fault(FramingFault::bad_escape, offset);
    case Stuffing::cut_escape:
      // An escape right before the closing flag aborts an HDLC-like frame (RFC
      // 1662, 4.3).
      return fault(is_cut_early ? FramingFault::bad_escape : FramingFault::truncated, offset);
    case Stuffing::cut_group:
      if (offset + frame[offset] > last) return fault(FramingFault::truncated, offset);
      break;
  }
  if (is_cut_early) return fault(FramingFault::early_delimiter, first + length);
  out.resize(undone.octets);
  return out;
}

}  // namespace

std::string_view framing_fault_text(FramingFault fault) {
  switch (fault) {
    case FramingFault::not_delimited:
      return "does not begin and end with the frame's delimiter";
    case FramingFault::early_delimiter:
      return "a delimiter stands inside the frame";
    case FramingFault::bad_escape:
      return "an escape is followed by an octet that cannot follow it";
    case FramingFault::truncated:
      return "the frame is cut short";
    case FramingFault::bad_checksum:
      return "the frame check sequence does not agree with the octets";
  }
  return {};
}

Octets slip_encode(std::span<const std::uint8_t> payload) {
  Octets out{kSlipEnd};
  for (const std::uint8_t octet : payload) {
    if (octet == kSlipEnd) {
      out.insert(out.end(), {kSlipEscape, kEscapedEnd});
    } else if (octet == kSlipEscape) {
      out.insert(out.end(), {kSlipEscape, kEscapedEscape});
    } else {
      out.push_back(octet);
    }
  }
  out.push_back(kSlipEnd);
  return out;
}

Result<Octets, FramingError> slip_decode(std::span<const std::uint8_t> frame) {
  if (frame.empty() || frame.back() != kSlipEnd) {
    return fault(FramingFault::not_delimited, frame.size());
  }
  const std::size_t first = frame.front() == kSlipEnd && frame.size() > 1 ? 1 : 0;
  return between_delimiters(frame, first, unstuff_slip);
}

Octets hdlc_stuff(std::span<const std::uint8_t> octets) {
  Octets out{kHdlcFlag};
  for (const std::uint8_t octet : octets) append_escaped(out, octet);
  out.push_back(kHdlcFlag);
  return out;
}

Octets hdlc_encode(std::span<const std::uint8_t> payload) {
  const std::uint16_t check = fcs16(payload);
  Octets whole{payload.begin(), payload.end()};
  whole.push_back(static_cast<std::uint8_t>(check & 0xFF));
  whole.push_back(static_cast<std::uint8_t>(check >> 8));
  return hdlc_stuff(whole);
}

Result<Octets, FramingError> hdlc_decode(std::span<const std::uint8_t> frame) {
  if (frame.size() < 2 || frame.front() != kHdlcFlag || frame.back() != kHdlcFlag) {
    return fault(FramingFault::not_delimited, frame.empty() ? 0 : frame.size() - 1);
  }
  auto whole = between_delimiters(frame, 1, unstuff_hdlc);
  if (!whole) return whole;
  Octets& out = *whole;
  const std::size_t last = frame.size() - 1;
  if (out.size() < 2) return fault(FramingFault::truncated, last);
  const auto sent = static_cast<std::uint16_t>(out[out.size() - 2] | out.back() << 8);
  out.resize(out.size() - 2);
  if (fcs16(out) != sent) return fault(FramingFault::bad_checksum, last);
  return whole;
}

Octets cobs_encode(std::span<const std::uint8_t> payload) {
  Octets out;
  std::size_t at = 0;
  bool open = true;  // a group that ends the payload, perhaps empty, is still due
  while (open) {
    const std::size_t most = std::min(payload.size() - at, kLongestCobsGroup);
    const auto group = payload.subspan(at, most);
    const auto length =
        static_cast<std::size_t>(std::find(group.begin(), group.end(), 0) - group.begin());
    out.push_back(static_cast<std::uint8_t>(length + 1));
    out.insert(out.end(), group.begin(), group.begin() + static_cast<std::ptrdiff_t>(length));
    at += length;
    const bool stands_for_zero = length < kLongestCobsGroup;
    open = at < payload.size();
    // The zero that a group stands for is swallowed; the next group, though it
    // be empty, must follow. A full group stands for none.
    if (open && stands_for_zero) ++at;
  }
  out.push_back(0);
  return out;
}

Result<Octets, FramingError> cobs_decode(std::span<const std::uint8_t> frame) {
  if (frame.size() < 2 || frame.back() != 0) {
    return fault(FramingFault::not_delimited, frame.empty() ? 0 : frame.size() - 1);
  }
  return between_delimiters(frame, 0, unstuff_cobs);
}

}  // namespace fieldfare::wire
