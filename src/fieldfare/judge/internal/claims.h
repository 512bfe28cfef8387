// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "fieldfare/judge/judge.h"

namespace fieldfare::judge::internal {

struct ClaimContext {
  const JudgeOptions& options;
  double pooled_loss_run;  ///< over all nodes
};

/// Adds the verdicts that the node's evidence gives a basis for, and what to do.
void judge_claims(NodeVerdict& node, const NodeTerms& terms, const ClaimContext& context);

}  // namespace fieldfare::judge::internal
