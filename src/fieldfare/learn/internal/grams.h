// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/internal/octet_runs.h"

namespace fieldfare::learn {

/// Octets that come again and again.
struct Gram {
  fleet::Octets octets;
  std::size_t count = 0;
};

/// The commonest sequences of `width` octets (1 to 4) that come at least four times
/// and three times as often as in octets of no order; at most `most`, the commonest
/// first.
std::vector<Gram> frequent_grams(const Runs& runs, std::size_t width, std::size_t most);

/// Where a gram stands, and how far it is from there to where it stands next.
struct Spacing {
  std::size_t run = 0;
  std::size_t at = 0;
  std::size_t distance = 0;
};
std::vector<Spacing> spacings(const Runs& runs, const fleet::Octets& gram);

}  // namespace fieldfare::learn
