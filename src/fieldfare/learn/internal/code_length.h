// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/internal/cutting.h"

namespace fieldfare::learn {

/// How many bits it takes to write down the octets when they are cut so: the
/// fewer, the better the framing explains them. Octets of no frame take eight
/// each. In frames of usual lengths every place is coded by itself, so that constants
/// and addresses, which only a right cut brings together, take few bits; `start`
/// and the length in front follow from the framing.
///
/// Source of the idea: Rissanen's minimum description length; escapes to new
/// octets are coded by method C of prediction by partial matching (from memory).
double code_length_bits(const Cut& cut, const fleet::FrameFacts& facts);

/// What the cut tells of where arrivals begin, in bits: much, where frames begin with
/// an arrival far more often than octets do (`arrivals` of `octets`).
double bits_of_arrivals(const Cut& cut, std::size_t arrivals, std::size_t octets);

}  // namespace fieldfare::learn
