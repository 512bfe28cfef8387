// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <string>

#include "fieldfare/fleet/frame.h"

// What was found of octets, in words.
namespace fieldfare::learn {

/// `7E 02`.
std::string hex_text(std::span<const std::uint8_t> octets);
/// `length-prefixed frames that begin with AA 55, ...`.
std::string framing_text(const fleet::FrameFacts& facts);
/// `crc-16/ibm-sdlc over octets 0 to 17, low octet first, at the end`. `length`: octets
/// of the frame that numbers are said for.
std::string check_text(const fleet::CheckFacts& check, std::size_t length);
/// `of one octet`, `of 4 octets, high octet first`.
std::string width_text(std::size_t octets, fleet::ByteOrder order);

}  // namespace fieldfare::learn
