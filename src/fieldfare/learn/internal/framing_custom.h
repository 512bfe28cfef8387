// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>

#include "fieldfare/fleet/frame.h"

// What is usual in framings, as bits: it settles what the octets leave open. Common
// practice throughout.
namespace fieldfare::learn {

/// Lengths count all, all behind themselves (with or without a check of 1, 2 or 4
/// octets), or all behind the start.
bool is_usual_length(const fleet::LengthPrefix& prefix, std::size_t start);

/// More bits for what is less usual, less where `frames` stand between the marks of a
/// standard, or are messages.
double bits_of_custom(const fleet::FrameFacts& facts, std::size_t frames);

}  // namespace fieldfare::learn
