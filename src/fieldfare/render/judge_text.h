// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "fieldfare/render/judge_view.h"
#include "fieldfare/render/words.h"

namespace fieldfare::render {

/// The answer of `judge` for people: one line a node with its last reports drawn
/// against the beat, worst first; what to do; and once each what else was seen
/// in the log. With interval and signal where there is room (from 100 columns on), below 60
/// stacked. Moments are in the time zone of this process.
std::string judge_text(const JudgeView& view, const TextStyle& style);

/// One node in full: every claim with its reason, and the evidence behind it.
std::string node_text(const JudgeView& view, const judge::NodeVerdict& node,
                      const TextStyle& style);

}  // namespace fieldfare::render
