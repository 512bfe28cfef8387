// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string_view>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/internal/slot_roles.h"

// A description is tried on the bodies that it came from, with the product's own
// reader, before anybody is told of it.
namespace fieldfare::learn {

/// For each body whether the reader makes reports of it. Precondition: faults_of()
/// the frame is empty.
std::vector<bool> read_by(const fleet::FrameFacts& frame,
                          const std::vector<std::string_view>& bodies);

/// Takes away the fields that the reader fails at in more than a twentieth of the
/// bodies, and says so. The frame's fields are those that were said.
void drop_what_fails(fleet::FrameFacts& frame, Described& said,
                     const std::vector<std::string_view>& bodies);

}  // namespace fieldfare::learn
