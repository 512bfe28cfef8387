// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "fieldfare/fleet/frame.h"

// Octets as bodies of text carry them.
namespace fieldfare::wire {

/// UTF-8 without control characters: what can name something.
bool is_label(std::string_view text);

/// Pairs of hex digits in either case, nothing between them.
std::optional<fleet::Octets> octets_of_hex(std::string_view text);
/// Upper case, two digits an octet.
std::string hex_of(std::span<const std::uint8_t> octets);

/// Base64 in the standard alphabet or the one for URLs (not mixed), padded as it
/// should be or not at all. Bits that stand for nothing must be 0, so that every
/// run of octets has one text in each alphabet.
/// Source: RFC 4648 sections 3.5, 4 and 5.
std::optional<fleet::Octets> octets_of_base64(std::string_view text);
/// In the standard alphabet, padded: RFC 4648 section 4.
std::string base64_of(std::span<const std::uint8_t> octets);
/// In the alphabet for URLs, not padded: RFC 4648 section 5, as RFC 8428 wants it.
std::string base64url_of(std::span<const std::uint8_t> octets);

}  // namespace fieldfare::wire
