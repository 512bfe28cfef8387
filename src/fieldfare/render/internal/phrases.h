// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fieldfare/evidence/node_evidence.h"
#include "fieldfare/judge/verdict.h"
#include "fieldfare/render/judge_view.h"

namespace fieldfare::render::internal {

/// `97.3 % (95.1 to 98.6)`, or `-` where nothing can be said.
std::string delivery_phrase(const std::optional<judge::Delivery>& delivery);
/// `7 min 1 s`, or `-`.
std::string interval_phrase(const std::optional<evidence::Cadence>& cadence);
/// `-87 dBm, margin 12 dB`, as far as known, or `-`.
std::string signal_phrase(const judge::NodeVerdict& node);
/// `35 more reports, about 18 min`.
std::string needs_phrase(const judge::Needs& needs);
/// `receiver r1 heard nobody from … to … (19 h 13 min): 2 nodes, …`, or `not
/// listening to receiver r1 …`: a sentence for each silence, of all receivers or (not
/// null) those of one node. Where listening was off and on, one for each receiver.
std::vector<std::string> silence_phrases(const JudgeView& view, const evidence::NodeEvidence* node,
                                         bool unicode);
/// What happened to the counter at a break, as a sentence without a name.
std::string break_phrase(const evidence::CounterBreak& at);

}  // namespace fieldfare::render::internal
