// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <vector>

#include "fieldfare/evidence/deafness.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/store/records.h"

namespace fieldfare::app {

/// When nobody listened to the receivers: between the stretches in which their
/// source was listened to, and after the last. Of the time before the first, and of
/// receivers whose source was never listened to, nothing is known. Breaks shorter
/// than kShortestBreak are none.
std::vector<evidence::Deafness> deafness_of(std::span<const store::Listening> listening,
                                            std::span<const store::ReceiverSource> receivers,
                                            fleet::Labels& labels);

inline constexpr Duration kShortestBreak = Duration::seconds(5);

}  // namespace fieldfare::app
