// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/robust.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <vector>

namespace fieldfare::stats {
namespace {

double median_in_place(std::vector<double>& x) {
  assert(!x.empty());
  const auto middle = x.begin() + static_cast<std::ptrdiff_t>(x.size() / 2);
  std::nth_element(x.begin(), middle, x.end());
  if (x.size() % 2 == 1) return *middle;
  const double below = *std::max_element(x.begin(), middle);
  return below + (*middle - below) / 2;
}

RobustMean pulled_in(std::span<const double> x, const RobustMean& centre) {
  const double low = centre.mean - 1.5 * centre.sd;
  const double high = centre.mean + 1.5 * centre.sd;
  const auto n = static_cast<double>(x.size());
  double sum = 0;
  for (const double value : x) sum += std::clamp(value, low, high);
  const double mean = sum / n;
  double squares = 0;
  for (const double value : x) {
    const double off = std::clamp(value, low, high) - mean;
    squares += off * off;
  }
  return {mean, 1.134 * std::sqrt(squares / (n - 1))};
}

}  // namespace

double median(std::span<const double> x) {
  std::vector<double> copy{x.begin(), x.end()};
  return median_in_place(copy);
}

double median_absolute_deviation(std::span<const double> x) {
  const double middle = median(x);
  std::vector<double> distances;
  distances.reserve(x.size());
  for (const double value : x) distances.push_back(std::abs(value - middle));
  return median_in_place(distances);
}

RobustMean robust_mean(std::span<const double> x) {
  assert(x.size() >= 2);
  // The standard stops when the third significant figure settles; going on to
  // rounding costs little and leaves nothing to choose.
  constexpr int kMostRounds = 1000;
  constexpr double kSettled = 1e-13;
  RobustMean here{median(x), 1.483 * median_absolute_deviation(x)};
  for (int round = 0; round < kMostRounds && here.sd > 0; ++round) {
    const RobustMean next = pulled_in(x, here);
    const bool settled = std::abs(next.sd - here.sd) <= kSettled * here.sd &&
                         std::abs(next.mean - here.mean) <= kSettled * here.sd;
    here = next;
    if (settled) break;
  }
  return here;
}

}  // namespace fieldfare::stats
