// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <vector>

#include "fieldfare/learn/internal/check_search.h"
#include "fieldfare/learn/internal/framing_guess.h"
#include "fieldfare/learn/internal/octet_runs.h"

namespace fieldfare::learn {

/// A framing with the check that holds in it best, and what both explain.
struct TriedFraming {
  FramingGuess guess;  ///< its facts hold the check, where there is one
  std::optional<CheckGuess> check;
  double bits = 0;  ///< code length, less what is usual
};

/// Best first.
std::vector<TriedFraming> try_framings(const Runs& few, const std::vector<CheckMaker>& makers);

/// The framing that, with the check that holds in it, explains the octets best.
struct FramingChoice {
  FramingGuess guess;  ///< its facts hold the check, where there is one
  std::optional<CheckGuess> check;
  double bits_saved = 0;                   ///< against octets of no order
  double bits_ahead = 0;                   ///< of the next that cuts other frames
  std::optional<fleet::FrameFacts> rival;  ///< that one
  std::vector<fleet::FrameFacts> alike;    ///< others that cut the very same frames
};

/// Nothing where no framing explains anything. `few` is enough of the octets to
/// judge by.
std::optional<FramingChoice> choose_framing(const Runs& few, const std::vector<CheckMaker>& makers);

/// Frames that hold to the check, or all where there is none.
std::vector<const CutFrame*> sound_frames(const Cut& cut, const fleet::FrameFacts& facts);

}  // namespace fieldfare::learn
