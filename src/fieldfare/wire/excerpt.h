// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "fieldfare/base/utf8.h"

namespace fieldfare::wire {

inline constexpr std::size_t kLongestExcerpt = 160;

/// The beginning of `bytes`, safe to print on a terminal and to put into UTF-8:
/// at most `most` bytes of input, cut between characters and then followed by
/// `...`. Control characters (C0, DEL, C1) and bytes that are no UTF-8 are
/// written as `\xHH`, so that a log cannot drive the terminal of its reader.
std::string excerpt(std::string_view bytes, std::size_t most = kLongestExcerpt);

using fieldfare::utf8_character_size;
using fieldfare::well_formed_size;

}  // namespace fieldfare::wire
