// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>

#include "fieldfare/wire/deframer.h"

namespace fieldfare::wire::internal {

/// Framings whose frames reach from one delimiting octet to the next: slip, hdlc,
/// cobs, line.
std::unique_ptr<Deframer> make_segment_deframer(const fleet::FrameFacts& frame);

/// Framings whose frames have to be searched for: length_prefixed, delimited.
std::unique_ptr<Deframer> make_searching_deframer(const fleet::FrameFacts& frame);

/// The length of a length_prefixed frame as it says itself, which may be less than
/// 0 or more than it has. Precondition: `octets` reach past the length.
std::int64_t framed_length(const fleet::FrameFacts& frame, std::span<const std::uint8_t> octets);

}  // namespace fieldfare::wire::internal
