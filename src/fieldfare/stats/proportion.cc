// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/proportion.h"

#include <boost/math/special_functions/beta.hpp>
#include <cassert>
#include <cmath>

#include "fieldfare/base/random.h"

namespace fieldfare::stats {

Interval wilson(std::uint64_t k, std::uint64_t n, double confidence) {
  assert(n > 0 && k <= n && confidence > 0 && confidence < 1);
  const double z = -normal_quantile((1 - confidence) / 2);
  const auto trials = static_cast<double>(n);
  const double p = static_cast<double>(k) / trials;
  const double z2 = z * z / trials;
  const double centre = p + z2 / 2;
  const double half = std::sqrt(z2 * (p * (1 - p) + z2 / 4));
  const double scale = 1 + z2;
  return {k == 0 ? 0 : (centre - half) / scale, k == n ? 1 : (centre + half) / scale};
}

Interval clopper_pearson(std::uint64_t k, std::uint64_t n, double confidence) {
  assert(n > 0 && n <= kMostTrials && k <= n && confidence > 0 && confidence < 1);
  const double tail = (1 - confidence) / 2;
  const auto hits = static_cast<double>(k);
  const double misses = static_cast<double>(n) - hits;
  return {k == 0 ? 0 : boost::math::ibeta_inv(hits, misses + 1, tail),
          k == n ? 1 : boost::math::ibetac_inv(hits + 1, misses, tail)};
}

}  // namespace fieldfare::stats
