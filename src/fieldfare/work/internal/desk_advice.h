// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <string>
#include <vector>

#include "fieldfare/work/desk.h"

namespace fieldfare::work::internal {

/// What the desk as a whole needs: what is wrong with the ways in at once, and while
/// nothing is heard what to check, more of it the longer it lasts.
std::vector<std::string> advice_of(const DeskView& view);

}  // namespace fieldfare::work::internal
