// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <vector>

#include "fieldfare/evidence/deafness.h"
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

/// The share of the reports sent while a receiver served a node that it heard, its
/// deaf stretches left out.
double share_heard(const NodeEvidence& node, const Link& link, const KnownDeafness& deaf);

/// Takes out of the nodes' chains what was missed while all receivers that hear the
/// node as a rule were known to be deaf, and tells those stretches.
///
/// In the rest of the time finds the stretches in which a receiver heard none of its nodes although
/// chance, from each node's own losses, would let that happen less than once in a
/// million, and takes the reports missed in them out of the nodes' chains. Two
/// nodes at least must have been due: with one, a silent receiver and a silent
/// node look alike.
std::vector<ReceiverSilence> explain_silences(std::span<const ReceiverActivity> receivers,
                                              std::span<NodeSilences> nodes,
                                              const KnownDeafness& deaf = {});

}  // namespace fieldfare::evidence::internal
