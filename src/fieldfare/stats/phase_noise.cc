// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/phase_noise.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>
#include <numbers>
#include <vector>

namespace fieldfare::stats {
namespace {

/// One difference of neighbouring block means, y = offset * steps + noise.
struct Difference {
  double steps;
  double phase_s;
  double white;       ///< variance of the white part, in units of one report's
  double walk;        ///< variance of the walk, in units of one step's
  double white_next;  ///< covariance with the next difference
  double walk_next;
};

/// By how much the walk's variance is smaller for the means of blocks than for
/// single reports, were those evenly spaced. Where a long gap lies within a block that
/// would be more than there is: it is kept to what leaves a covariance, so that no two
/// neighbours take more than half of the steps between them.
std::vector<double> walk_smoothing(std::span<const PhaseBlock> blocks) {
  std::vector<double> even;
  even.reserve(blocks.size());
  for (const PhaseBlock& block : blocks) {
    even.push_back(block.span * (block.count + 1) / (6 * block.count));
  }
  std::vector<double> result = even;
  for (std::size_t i = 0; i + 1 < blocks.size(); ++i) {
    if (blocks[i + 1].starts_segment) continue;
    const double most = (blocks[i + 1].number - blocks[i].number) / 2;
    const double both = even[i] + even[i + 1];
    if (both <= most) continue;
    result[i] = std::min(result[i], even[i] * most / both);
    result[i + 1] = std::min(result[i + 1], even[i + 1] * most / both);
  }
  return result;
}

std::vector<Difference> differences(std::span<const PhaseBlock> blocks) {
  const std::vector<double> smoothing = walk_smoothing(blocks);
  std::vector<Difference> result;
  result.reserve(blocks.size());
  for (std::size_t i = 0; i + 1 < blocks.size(); ++i) {
    const PhaseBlock& from = blocks[i];
    const PhaseBlock& to = blocks[i + 1];
    if (to.starts_segment) continue;
    const double steps = to.number - from.number;
    const bool next_in_segment = i + 2 < blocks.size() && !blocks[i + 2].starts_segment;
    result.push_back({.steps = steps,
                      .phase_s = to.phase_s - from.phase_s,
                      .white = 1 / from.count + 1 / to.count,
                      .walk = steps - smoothing[i] - smoothing[i + 1],
                      .white_next = next_in_segment ? -1 / to.count : 0,
                      .walk_next = next_in_segment ? smoothing[i + 1] : 0});
  }
  return result;
}

/// The generalised least squares fit at one proportion of walk to white noise.
struct Fit {
  double offset_s;
  double variance;    ///< of the offset
  double log_weight;  ///< restricted likelihood, and prior
};

/// Weights of the two covariances. Written so that either may vanish.
struct Proportion {
  double white;
  double walk;
};

Fit fit(std::span<const Difference> data, Proportion proportion) {
  double log_determinant = 0;
  double xx = 0;
  double xy = 0;
  double yy = 0;
  double carry = 0;  // covariance with the difference before, over its pivot
  double covariance = 0;
  double x_before = 0;
  double y_before = 0;
  for (const Difference& d : data) {
    const double pivot = proportion.white * d.white + proportion.walk * d.walk - carry * covariance;
    const double x = d.steps - carry * x_before;
    const double y = d.phase_s - carry * y_before;
    log_determinant += std::log(pivot);
    xx += x * x / pivot;
    xy += x * y / pivot;
    yy += y * y / pivot;
    covariance = proportion.white * d.white_next + proportion.walk * d.walk_next;
    carry = covariance / pivot;
    x_before = x;
    y_before = y;
  }
  const auto freedom = static_cast<double>(data.size() - 1);
  const double offset_s = xy / xx;
  // Phases that agree to the last bit would make the likelihood infinite: a clock
  // finer than a nanosecond isn't known of.
  constexpr double kLeastVariance = 1e-18;
  const double residual = std::max(yy - xy * offset_s, kLeastVariance * freedom);
  const double scale = residual / freedom;
  return {.offset_s = offset_s,
          .variance = scale / xx,
          .log_weight = -0.5 * (log_determinant + std::log(xx) + freedom * std::log(scale))};
}

/// The logarithm of a proportion's prior weight.
///
/// Uniform in log q, and kSpike times that where the walk doesn't show over the
/// whole span: most steady clocks are there, and without it the many small
/// proportions that the data can't tell from none make the interval of a steady
/// beat half as wide again as it need be.
double log_prior(double q, double span) {
  constexpr double kSpike = 16;
  const double shows = 1 + q * span * span;
  return std::log1p(kSpike / (shows * shows));
}

/// Proportions from a walk that doesn't show over the whole span to one beside
/// which white noise doesn't show within a step, a factor of sqrt(10) apart.
std::vector<Proportion> proportions(double span) {
  constexpr double kStep = 3.1622776601683795;
  constexpr double kMost = 1e6;
  std::vector<Proportion> grid;
  for (double q = 0.01 / (span * span); q < kMost; q *= kStep) grid.push_back({1, q});
  return grid;
}

/// One proportion's estimate, to be averaged with the others.
struct Component {
  double weight;
  double mean;
  double sd;
};

/// P(T <= t) of Student's distribution. Wallace's normal approximation: within
/// 0.0005 from six degrees of freedom on, and rightly too wide below.
/// Source: Wallace, Annals of Mathematical Statistics 30 (1959) 1121-1130 (from memory).
double student_below(double t, double freedom) {
  const double z = std::copysign(
      std::sqrt(freedom * std::log1p(t * t / freedom)) * (8 * freedom + 1) / (8 * freedom + 3), t);
  return std::erfc(-z / std::numbers::sqrt2) / 2;
}

double quantile(std::span<const Component> mixture, double freedom, double share) {
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  double widest = 0;
  for (const Component& component : mixture) {
    low = std::min(low, component.mean);
    high = std::max(high, component.mean);
    widest = std::max(widest, component.sd);
  }
  const double reach = widest * 20 * (1 + 60 / (freedom * freedom));
  low -= reach;
  high += reach;
  constexpr int kHalvings = 44;
  for (int i = 0; i < kHalvings; ++i) {
    const double middle = (low + high) / 2;
    double below = 0;
    for (const Component& component : mixture) {
      below += component.weight * student_below((middle - component.mean) / component.sd, freedom);
    }
    (below < share ? low : high) = middle;
  }
  return (low + high) / 2;
}

}  // namespace

std::optional<PaceOffset> pace_offset(std::span<const PhaseBlock> blocks, double confidence) {
  assert(confidence > 0 && confidence < 1);
  const std::vector<Difference> data = differences(blocks);
  if (data.size() < 2) return std::nullopt;
  double span = 0;
  for (const Difference& d : data) span += d.steps;

  std::vector<Fit> fits;
  double best = -std::numeric_limits<double>::infinity();
  for (const Proportion& proportion : proportions(span)) {
    fits.push_back(fit(data, proportion));
    fits.back().log_weight += log_prior(proportion.walk, span);
    best = std::max(best, fits.back().log_weight);
  }
  std::vector<Component> mixture;
  double weights = 0;
  for (const Fit& f : fits) {
    // What weighs less than this moves no digit that is shown.
    constexpr double kLeastLogWeight = -16;
    if (f.log_weight - best < kLeastLogWeight) continue;
    mixture.push_back({std::exp(f.log_weight - best), f.offset_s, std::sqrt(f.variance)});
    weights += mixture.back().weight;
  }
  double mean = 0;
  for (Component& component : mixture) {
    component.weight /= weights;
    mean += component.weight * component.mean;
  }
  const auto freedom = static_cast<double>(data.size() - 1);
  return PaceOffset{.offset_s = mean,
                    .low_s = quantile(mixture, freedom, (1 - confidence) / 2),
                    .high_s = quantile(mixture, freedom, (1 + confidence) / 2)};
}

}  // namespace fieldfare::stats
