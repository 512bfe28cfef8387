// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "fieldfare/judge/first_beat.h"
#include "fieldfare/judge/first_day.h"
#include "fieldfare/judge/internal/signs.h"
#include "fieldfare/judge/suffixes.h"

namespace fieldfare::judge::internal {

/// How a provocation was answered.
struct Answer {
  std::optional<std::size_t> node;
  std::size_t report = 0;  ///< of that node
  Sign sign = Sign::maybe_a_beat;
  bool is_own = false;      ///< its address ends in the provocation's digits
  bool is_certain = false;  ///< false: it may also have been something else
  bool is_over = false;     ///< nothing is waited for any more
  bool counts = false;      ///< as a try of its own: the same was not said again at once
};

struct Matching {
  const FirstDay& day;
  std::span<const FirstBeat> beats;
  const Suffixes& suffixes;
};

/// One for every provocation of the day.
///
/// First every node is asked for reports that show that they were provoked, and the
/// provocations of its own label get them, the surest and nearest first. What is left
/// of restarts, of first and of extra reports speaks for other labels whose own nodes
/// stay mute: a restart alone, once its time is over, or two of anything from the same
/// node, which two people's work doesn't bring about by chance (common practice). A
/// node that answered to its own label answers to no other.
std::vector<Answer> answers(const Matching& matching, Instant now);

}  // namespace fieldfare::judge::internal
