// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>

#include "fieldfare/learn/learn.h"

namespace fieldfare::learn {

/// How unlikely it is, in bits (minus log2 of a probability, an upper bound of it),
/// that chance alone makes `held` or more of `of` trials succeed, each with a
/// probability of 2^-`bits_each`. 0 where it is no wonder at all.
double bits_against_chance(std::size_t held, std::size_t of, double bits_each);

/// What learn.h means by certain and likely, for a probability of 2^-`bits`.
Sureness sureness_of(double bits);

}  // namespace fieldfare::learn
