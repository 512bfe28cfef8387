// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "fieldfare/judge/first_beat.h"
#include "fieldfare/judge/first_day.h"

namespace fieldfare::judge {

/// All that is made out of a first day, at the price of one of them.
struct FirstJudgement {
  std::vector<FirstBeat> beats;           ///< as of first_beats()
  std::vector<ProvokedOutcome> outcomes;  ///< as of match_provocations()
  std::vector<FirstVerdict> verdicts;     ///< as of judge_first_day()
};

FirstJudgement judge_whole_first_day(const FirstDay& day, Instant now);

}  // namespace fieldfare::judge
