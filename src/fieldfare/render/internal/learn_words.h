// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/learn.h"

namespace fieldfare::render::internal {

/// `certain`, `likely`, `guess`, `open`.
std::string_view sureness_word(learn::Sureness sureness);

/// `7E 01`.
std::string hex_pairs(const fleet::Octets& octets);

/// What a sample came to, in a sentence or two.
std::string learnt_words(const learn::Learnt& learnt);

}  // namespace fieldfare::render::internal
