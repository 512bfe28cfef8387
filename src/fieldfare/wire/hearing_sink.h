// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>

#include "fieldfare/fleet/hearing.h"

namespace fieldfare::wire {

/// Takes hearings one by one; each is valid during its call alone.
using HearingSink = std::function<void(const fleet::Hearing&)>;

}  // namespace fieldfare::wire
