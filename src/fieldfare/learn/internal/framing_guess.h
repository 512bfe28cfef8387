// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/internal/cutting.h"
#include "fieldfare/learn/internal/octet_runs.h"

namespace fieldfare::learn {

/// A way in which the stream may be cut.
struct FramingGuess {
  fleet::FrameFacts facts;           ///< no check yet; one field of all octets
  std::vector<std::size_t> lengths;  ///< length-prefixed: those that come again and again
  double bits = 0;                   ///< code length, less what is usual
  Cut cut;                           ///< of the octets it was judged by
};

/// The ways that explain the octets best, best first, at most `most`.
std::vector<FramingGuess> guess_framings(const Runs& runs, std::size_t most);

/// Cuts other octets in the way of a guess.
Cut cut_as(const FramingGuess& guess, const Runs& runs);

/// The bits that a cut takes to write down, less what is usual and what it tells of
/// arrivals.
double explained_bits(const FramingGuess& guess, const Runs& runs);

/// The octets of a field that takes all: stands in where nothing is known yet.
fleet::FieldLayout all_octets();

}  // namespace fieldfare::learn
