// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/internal/octet_runs.h"

namespace fieldfare::learn {

/// Reads a length-prefixed stream that has no start: of all ways to lay frames that
/// say their length behind each other, the one with most frames in a row. Returns the lengths that
/// come in it again and again, the commonest first. Takes time in proportion to the octets.
std::vector<std::size_t> chained_lengths(const Runs& runs, const fleet::LengthPrefix& prefix);

/// The number at its place in a frame that begins at `at`; nothing past the end.
std::optional<std::int64_t> number_in(const fleet::Octets& octets, std::size_t at,
                                      const fleet::LengthPrefix& prefix);

}  // namespace fieldfare::learn
