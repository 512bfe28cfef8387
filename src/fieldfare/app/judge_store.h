// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>

#include "fieldfare/app/judge_logs.h"

namespace fieldfare::app {

/// Judges the hearings in a site's store. Evidence folded before is taken from
/// its checkpoints, so that this takes time with what is new alone, and saved
/// for the next time where the store can be written. Asking for a stretch of
/// time (`from`, `to`) goes through all hearings.
///
/// Gives the same answer as judge_logs() of the logs that went in, run facts
/// aside, where the store knows nothing of listening; where it does, what was missed
/// while nobody listened is not charged to the nodes. `request.logs` and `request.strict` mean
/// nothing here.
Result<Judged, Trouble> judge_store(const JudgeRequest& request, const std::string& folder,
                                    const fleet::Site& site);

}  // namespace fieldfare::app
