// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/framing.h"

#include <algorithm>

#include "fieldfare/base/crc.h"

namespace fieldfare::wire {
namespace {

// RFC 1055.
constexpr std::uint8_t kEnd = 0xC0;
constexpr std::uint8_t kSlipEscape = 0xDB;
constexpr std::uint8_t kEscapedEnd = 0xDC;
constexpr std::uint8_t kEscapedEscape = 0xDD;

// RFC 1662.
constexpr std::uint8_t kFlag = 0x7E;
constexpr std::uint8_t kHdlcEscape = 0x7D;
constexpr std::uint8_t kFlip = 0x20;

constexpr std::size_t kLongestCobsGroup = 254;

Failure<FramingError> fault(FramingFault what, std::size_t offset) {
  return Failure{FramingError{what, offset}};
}

std::uint16_t fcs16(std::span<const std::uint8_t> octets) {
  static const Crc crc{*find_crc_model("crc-16/ibm-sdlc")};
  return static_cast<std::uint16_t>(crc.of(octets));
}

void append_escaped(Octets& out, std::uint8_t octet) {
  if (octet == kFlag || octet == kHdlcEscape) {
    out.push_back(kHdlcEscape);
    octet ^= kFlip;
  }
  out.push_back(octet);
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
  Octets out{kEnd};
  for (const std::uint8_t octet : payload) {
    if (octet == kEnd) {
      out.insert(out.end(), {kSlipEscape, kEscapedEnd});
    } else if (octet == kSlipEscape) {
      out.insert(out.end(), {kSlipEscape, kEscapedEscape});
    } else {
      out.push_back(octet);
    }
  }
  out.push_back(kEnd);
  return out;
}

Result<Octets, FramingError> slip_decode(std::span<const std::uint8_t> frame) {
  if (frame.empty() || frame.back() != kEnd) {
    return fault(FramingFault::not_delimited, frame.size());
  }
  const std::size_t last = frame.size() - 1;
  Octets out;
  for (std::size_t i = frame.front() == kEnd && last > 0 ? 1 : 0; i < last; ++i) {
    if (frame[i] == kEnd) return fault(FramingFault::early_delimiter, i);
    if (frame[i] != kSlipEscape) {
      out.push_back(frame[i]);
      continue;
    }
    if (++i == last) return fault(FramingFault::truncated, i);
    if (frame[i] != kEscapedEnd && frame[i] != kEscapedEscape) {
      return fault(FramingFault::bad_escape, i);
    }
    out.push_back(frame[i] == kEscapedEnd ? kEnd : kSlipEscape);
  }
  return out;
}

Octets hdlc_encode(std::span<const std::uint8_t> payload) {
  const std::uint16_t check = fcs16(payload);
  Octets out{kFlag};
  for (const std::uint8_t octet : payload) append_escaped(out, octet);
  append_escaped(out, static_cast<std::uint8_t>(check & 0xFF));
  append_escaped(out, static_cast<std::uint8_t>(check >> 8));
  out.push_back(kFlag);
  return out;
}

Result<Octets, FramingError> hdlc_decode(std::span<const std::uint8_t> frame) {
  if (frame.size() < 2 || frame.front() != kFlag || frame.back() != kFlag) {
    return fault(FramingFault::not_delimited, frame.empty() ? 0 : frame.size() - 1);
  }
  const std::size_t last = frame.size() - 1;
  Octets out;
  for (std::size_t i = 1; i < last; ++i) {
    if (frame[i] == kFlag) return fault(FramingFault::early_delimiter, i);
    if (frame[i] != kHdlcEscape) {
      out.push_back(frame[i]);
      continue;
    }
    // An escape right before the closing flag aborts a frame (RFC 1662, 4.3).
    if (++i == last) return fault(FramingFault::truncated, i);
    if (frame[i] == kFlag) return fault(FramingFault::bad_escape, i);
    out.push_back(frame[i] ^ kFlip);
  }
  if (out.size() < 2) return fault(FramingFault::truncated, last);
  const auto sent = static_cast<std::uint16_t>(out[out.size() - 2] | out.back() << 8);
  out.resize(out.size() - 2);
  if (fcs16(out) != sent) return fault(FramingFault::bad_checksum, last);
  return out;
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
  const std::size_t last = frame.size() - 1;
  Octets out;
  for (std::size_t at = 0; at < last;) {
    const std::size_t code = frame[at];
    if (code == 0) return fault(FramingFault::early_delimiter, at);
    const std::size_t next = at + code;
    if (next > last) return fault(FramingFault::truncated, at);
    for (++at; at < next; ++at) {
      if (frame[at] == 0) return fault(FramingFault::early_delimiter, at);
      out.push_back(frame[at]);
    }
    if (code <= kLongestCobsGroup && at < last) out.push_back(0);
  }
  return out;
}

}  // namespace fieldfare::wire
