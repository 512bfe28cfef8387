// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/internal/check_values.h"

namespace fieldfare::learn {

/// A check that holds for more frames than chance would let it.
struct CheckGuess {
  fleet::CheckFacts facts;
  std::size_t held = 0;
  std::size_t of = 0;  ///< frames that have room for it
  /// Against chance, all that was tried being counted.
  double bits = 0;
  double bits_of_custom = 0;              ///< how unusual the description is; 0: as usual as can be
  double rival_custom = 0;                ///< of the most usual rival
  std::vector<fleet::CheckFacts> rivals;  ///< other descriptions that do as well, the usual first
};

/// Searches CRCs of the catalogue, sums and exclusive or; at the frame's end, a few
/// octets before it, in front, or in the middle; over spans that may leave out the
/// first octets. `frames` are different from each other. `framing` tells where
/// start and length stand. `tries` is how many other searches are made besides.
/// Nothing where none holds for more frames than chance, at likely or better.
///
/// A check whose value is always the same counts for nothing, however often it
/// holds: each different value counts once.
std::optional<CheckGuess> search_check(std::span<const fleet::Octets* const> frames,
                                       const fleet::FrameFacts& framing,
                                       std::span<const CheckMaker> makers, std::size_t tries);

/// Up to `most` different ones, spread over all.
std::vector<const fleet::Octets*> different_frames(std::span<const fleet::Octets* const> frames,
                                                   std::size_t most);

}  // namespace fieldfare::learn
