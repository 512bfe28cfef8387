// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>

#include "fieldfare/app/site_facts.h"
#include "fieldfare/evidence/deafness.h"
#include "fieldfare/evidence/fleet_fold.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/judge/verdict.h"

namespace fieldfare::app {

/// Verdicts from a fold, listed nodes that were never heard among them. `deaf`: when
/// nobody listened, as far as that is known.
judge::FleetVerdict judge_fold(const evidence::FleetFold& fold, const fleet::Labels& labels,
                               const SiteFacts& facts, double confidence,
                               std::span<const evidence::Deafness> deaf = {});

}  // namespace fieldfare::app
