// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "fieldfare/app/site_facts.h"
#include "fieldfare/evidence/fleet_fold.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/judge/verdict.h"

namespace fieldfare::app {

/// Verdicts from a fold, listed nodes that were never heard among them.
judge::FleetVerdict judge_fold(const evidence::FleetFold& fold, const fleet::Labels& labels,
                               const SiteFacts& facts, double confidence);

}  // namespace fieldfare::app
