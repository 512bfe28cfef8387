// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/comparison.h"

#include <cassert>
#include <cmath>

#include "fieldfare/stats/robust.h"

namespace fieldfare::stats {

double en_number(const Uncertain& x, const Uncertain& reference) {
  const double combined = std::hypot(x.expanded_uncertainty, reference.expanded_uncertainty);
  assert(combined > 0);
  return (x.value - reference.value) / combined;
}

RunsTest runs_test(std::size_t above, std::size_t below, std::size_t runs) {
  assert(above > 0 && below > 0 && above + below > 2);
  const auto n1 = static_cast<double>(above), n2 = static_cast<double>(below);
  const double n = n1 + n2;
  const double expected = 2 * n1 * n2 / n + 1;
  const double variance = 2 * n1 * n2 * (2 * n1 * n2 - n) / (n * n * (n - 1));
  return {runs, expected, variance, (static_cast<double>(runs) - expected) / std::sqrt(variance)};
}

RunsTest runs_about_median(std::span<const double> x) {
  const double middle = median(x);
  std::size_t above = 0, below = 0, runs = 0;
  bool was_above = false;
  for (const double value : x) {
    if (value == middle) continue;
    const bool is_above = value > middle;
    if (above + below == 0 || is_above != was_above) ++runs;
    (is_above ? above : below) += 1;
    was_above = is_above;
  }
  return runs_test(above, below, runs);
}

}  // namespace fieldfare::stats
