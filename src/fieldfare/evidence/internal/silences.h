// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <vector>

#include "fieldfare/evidence/internal/activity.h"
#include "fieldfare/evidence/internal/loss_fold.h"
#include "fieldfare/evidence/node_evidence.h"

namespace fieldfare::evidence::internal {

/// What the search for receiver silences needs of one receiver.
struct ReceiverActivity {
  fleet::ReceiverIndex receiver{};
  std::vector<Activity::Quiet> quiet;
};

/// What it needs of one node.
struct NodeSilences {
  NodeEvidence* evidence;  ///< its chain is relieved of what receivers missed
  std::vector<Gap> gaps;
};

/// Finds the stretches in which a receiver heard none of its nodes although
/// chance, from each node's own losses, would let that happen less than once in a
/// million, and takes the reports missed in them out of the nodes' chains. Two
/// nodes at least must have been due: with one, a silent receiver and a silent
/// node look alike.
std::vector<ReceiverSilence> explain_silences(std::span<const ReceiverActivity> receivers,
                                              std::span<NodeSilences> nodes);

}  // namespace fieldfare::evidence::internal
