// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/learn.h"

namespace fieldfare::render::internal {

/// A frame with its fields marked, in ASCII, no line wider than `width` (40 at least) but
/// by what a field is called:
///
///     0  02 4D 21 00 A1 B2 05 08 5C 3A F1
///        a---------------- b- c---- d----
///     a  octets 0 to 5    node
///
/// Lines of text are shown as such, others in hex. Long frames end with how many octets
/// more there are.
std::vector<std::string> example_lines(const fleet::Octets& octets,
                                       std::span<const learn::Mark> marks, std::size_t width);

}  // namespace fieldfare::render::internal
