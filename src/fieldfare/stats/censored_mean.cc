// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/censored_mean.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>

namespace fieldfare::stats {
namespace {

double normal_density(double x) { return std::exp(-x * x / 2) / std::sqrt(2 * std::numbers::pi); }
double normal_above(double x) { return std::erfc(x / std::numbers::sqrt2) / 2; }
double normal_below(double x) { return normal_above(-x); }

struct Normal {
  double mean;
  double sd;
};

/// One step of expectation-maximisation: the unmeasured levels, `unmeasured` for
/// each measured one, take the mean and spread that `guess` gives them below the
/// threshold.
Normal improve(const CensoredSample& sample, Normal guess, double unmeasured) {
  const double at = (sample.threshold - guess.mean) / guess.sd;
  const double below = std::max(normal_below(at), 1e-300);
  const double hazard = normal_density(at) / below;
  const double mean_below = guess.mean - guess.sd * hazard;
  const double variance_below =
      guess.sd * guess.sd * std::max(0.0, 1 - at * hazard - hazard * hazard);
  const double total = 1 + unmeasured;
  const double mean = (sample.mean + unmeasured * mean_below) / total;
  const double square =
      (sample.sd * sample.sd + (sample.mean - mean) * (sample.mean - mean) +
       unmeasured * (variance_below + (mean_below - mean) * (mean_below - mean))) /
      total;
  return {mean, std::sqrt(square)};
}

constexpr int kMostSteps = 2000;
constexpr double kClose = 1e-9;

bool close(Normal a, Normal b) {
  return std::abs(a.mean - b.mean) + std::abs(a.sd - b.sd) < kClose * a.sd;
}

}  // namespace

CensoredFit fit_censored(const CensoredSample& sample) {
  assert(sample.measured >= 2 && sample.sd > 0);
  const double most = static_cast<double>(sample.missed) / static_cast<double>(sample.measured);
  Normal guess{sample.mean, sample.sd};
  double unmeasured = 0;
  for (int step = 0; step < kMostSteps; ++step) {
    // As many below the threshold for each measured one as the guess says, but
    // never more than were missed.
    const double at = (sample.threshold - guess.mean) / guess.sd;
    unmeasured = std::min(most, normal_below(at) / std::max(normal_above(at), 1e-300));
    const Normal better = improve(sample, guess, unmeasured);
    const bool done = close(better, guess);
    guess = better;
    if (done) break;
  }
  const double other = std::max(0.0, most - unmeasured);
  return {.mean = guess.mean, .sd = guess.sd, .outage = other / (1 + most)};
}

}  // namespace fieldfare::stats
