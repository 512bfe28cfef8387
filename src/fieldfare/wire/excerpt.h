// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace fieldfare::wire {

inline constexpr std::size_t kLongestExcerpt = 160;

/// The beginning of `bytes`, safe to print on a terminal and to put into UTF-8:
/// at most `most` bytes of input, cut between characters and then followed by
/// `...`. Control characters (C0, DEL, C1) and bytes that are no UTF-8 are
/// written as `\xHH`, so that a log cannot drive the terminal of its reader.
std::string excerpt(std::string_view bytes, std::size_t most = kLongestExcerpt);

/// Bytes in the well-formed UTF-8 character at the front of `bytes`, or 0 where
/// there is none. Source: RFC 3629 section 4 (no overlong forms, no surrogates).
std::size_t utf8_character_size(std::string_view bytes);

/// Bytes before the first that is not part of well-formed UTF-8.
std::size_t well_formed_size(std::string_view bytes);

}  // namespace fieldfare::wire
