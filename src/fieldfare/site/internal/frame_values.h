// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/frame.h"
#include "fieldfare/site/internal/tree.h"

// How sheets write bytes, types and moments.
namespace fieldfare::site {

/// `u8 u16le u24be … u64be`, `i8 …`, `f16be f32le f64be`, `bcd1` to `bcd8` (bytes, two
/// digits each; `bcd2le`), `bytes8`, `bytes8le`, `bytes`, `text12`, `text`. Nothing for
/// anything else, a `u16` without its order among it.
std::optional<fleet::BinaryForm> parse_value_type(std::string_view text);

/// Pairs of hex digits with or without blanks between them, "7E 01", or "text:" with
/// ASCII characters behind it. At least one byte; nothing for anything else.
std::optional<fleet::Octets> parse_octets(std::string_view text);

/// "0x4D21": 0 to 0xFFFE, as 0xFFFF means any network (IEEE 802.15.4).
std::optional<std::uint16_t> parse_pan_id(std::string_view text);

/// A TOML date (its first moment in UTC), a TOML date-time with an offset, or a text of
/// RFC 3339. Nothing for anything else.
std::optional<Instant> moment_in(const Value& value);

/// A whole number written as a key.
std::optional<std::int64_t> parse_whole(std::string_view text);

}  // namespace fieldfare::site
