// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/ewma.h"

#include <cassert>
#include <cmath>

namespace fieldfare::stats {

std::vector<double> ewma(std::span<const double> x, double lambda, double start) {
  assert(lambda > 0 && lambda <= 1);
  std::vector<double> out;
  out.reserve(x.size());
  double z = start;
  for (const double value : x) {
    z = lambda * value + (1 - lambda) * z;
    out.push_back(z);
  }
  return out;
}

double ewma_asymptotic_sd(double lambda) {
  assert(lambda > 0 && lambda <= 1);
  return std::sqrt(lambda / (2 - lambda));
}

}  // namespace fieldfare::stats
