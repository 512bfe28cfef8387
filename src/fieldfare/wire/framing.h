// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "fieldfare/base/result.h"
#include "fieldfare/fleet/frame.h"

// How octets become frames on a serial line, and back, one whole frame at a time.
namespace fieldfare::wire {

using fleet::Octets;

enum class FramingFault : std::uint8_t {
  not_delimited,    ///< does not begin or end as a frame does
  early_delimiter,  ///< a delimiter stands inside
  bad_escape,       ///< an escape is followed by what cannot follow it
  truncated,        ///< ends inside an escape, a group or the check sequence
  bad_checksum,     ///< the frame check sequence doesn't agree
};

/// Why octets are no frame. `offset` counts octets from the first given.
struct FramingError {
  FramingFault fault;
  std::size_t offset;
};

/// What the fault means, for people.
std::string_view framing_fault_text(FramingFault fault);

/// SLIP with an END before and after. Decoding takes frames without the leading
/// END as well, and refuses escapes that the RFC doesn't define.
/// Source: RFC 1055.
Octets slip_encode(std::span<const std::uint8_t> payload);
Result<Octets, FramingError> slip_decode(std::span<const std::uint8_t> frame);

/// HDLC-like framing: flag, payload and FCS-16 (low octet first) with flags and
/// escapes escaped, flag. No address and control octets and no mapped control
/// characters: what a frame carries is the payload alone.
/// Source: RFC 1662, sections 3.1, 4.2 and appendix C.
Octets hdlc_encode(std::span<const std::uint8_t> payload);
Result<Octets, FramingError> hdlc_decode(std::span<const std::uint8_t> frame);

/// The same without the check sequence: flags and escapes around what is given.
Octets hdlc_stuff(std::span<const std::uint8_t> octets);

/// Consistent overhead byte stuffing with the closing 00.
/// Source: S. Cheshire & M. Baker, IEEE/ACM Trans. Networking 7 (1999) 159-172.
Octets cobs_encode(std::span<const std::uint8_t> payload);
Result<Octets, FramingError> cobs_decode(std::span<const std::uint8_t> frame);

}  // namespace fieldfare::wire
