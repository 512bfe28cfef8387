// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/odds.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace fieldfare::learn {

// The union bound over all ways to choose those that held: C(of, held) p^held.
double bits_against_chance(std::size_t held, std::size_t of, double bits_each) {
  if (held == 0 || held > of) return 0;
  const auto n = static_cast<double>(of);
  const auto k = static_cast<double>(held);
  const double ways =
      (std::lgamma(n + 1) - std::lgamma(k + 1) - std::lgamma(n - k + 1)) / std::numbers::ln2;
  return std::max(0.0, k * bits_each - ways);
}

Sureness sureness_of(double bits) {
  constexpr double kCertain = 19.932;  // log2 of a million
  constexpr double kLikely = 6.644;    // log2 of a hundred
  if (bits >= kCertain) return Sureness::certain;
  return bits >= kLikely ? Sureness::likely : Sureness::guess;
}

}  // namespace fieldfare::learn
