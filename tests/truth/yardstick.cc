// SPDX-License-Identifier: Apache-2.0
#include "yardstick.h"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace fieldfare::truth {
namespace {

/// log of C(n, k) x^k (1 - x)^(n - k) for 0 < x < 1.
double log_binomial(std::uint64_t k, std::uint64_t n, double x) {
  const auto kd = static_cast<double>(k);
  const auto nd = static_cast<double>(n);
  return std::lgamma(nd + 1) - std::lgamma(kd + 1) - std::lgamma(nd - kd + 1) + kd * std::log(x) +
         (nd - kd) * std::log1p(-x);
}

double sum_binomial(std::uint64_t from, std::uint64_t to, std::uint64_t trials, double share) {
  double sum = 0;
  for (std::uint64_t k = from; k <= to; ++k) sum += std::exp(log_binomial(k, trials, share));
  return std::min(sum, 1.0);
}

double white_variance(const Truth& truth, double sd_s) {
  double count = 0;
  double mean = 0;
  double squares = 0;
  for (std::size_t k = 0; k < truth.sent.size(); ++k) {
    if (!truth.sent[k].heard_ns) continue;
    ++count;
    const double off = static_cast<double>(k) - mean;
    mean += off / count;
    squares += off * (static_cast<double>(k) - mean);
  }
  return sd_s * sd_s / squares;
}

}  // namespace

LossPattern loss_pattern(const Setting& setting) {
  const Loss& first = setting.losses.front();
  const double q1 = first.share();
  const double m1 = first.memory();
  const double spread1 = q1 * (1 - q1);  // covariance at lag 0; times m^k at lag k
  if (setting.losses.size() == 1 || setting.one_fate) {
    return {q1, spread1 * (1 + m1) / (1 - m1), (1 - q1) * first.good_to_bad};
  }
  const Loss& second = setting.losses.back();
  const double q2 = second.share();
  const double m2 = second.memory();
  const double spread2 = q2 * (1 - q2);
  // Covariance of the products at lag k:
  // (q1^2 + spread1 m1^k) (q2^2 + spread2 m2^k) - q1^2 q2^2.
  const auto both_ways = [](double at_zero, double memory) {
    return at_zero * (1 + memory) / (1 - memory);
  };
  const double variance = both_ways(q1 * q1 * spread2, m2) + both_ways(q2 * q2 * spread1, m1) +
                          both_ways(spread1 * spread2, m1 * m2);
  const double lost_twice = (q1 * q1 + spread1 * m1) * (q2 * q2 + spread2 * m2);
  return {q1 * q2, variance, q1 * q2 - lost_twice};
}

double delta_method_variance(const Loss& loss) {
  const double p = loss.good_to_bad;
  const double r = loss.bad_to_good;
  const double q = loss.share();
  const double by_p = r / ((p + r) * (p + r));
  const double by_r = -p / ((p + r) * (p + r));
  // A transition rate is a share of the reports that its state was left or not.
  return by_p * by_p * p * (1 - p) / (1 - q) + by_r * by_r * r * (1 - r) / q;
}

double delivery_width(const LossPattern& pattern, std::uint64_t reports) {
  return kWidth95 * std::sqrt(pattern.variance / static_cast<double>(reports));
}

double interval_width(const Setting& setting, const Truth& truth) {
  assert(setting.white_jitter == 0 || setting.accumulating_jitter == 0);
  if (setting.accumulating_jitter == 0) {
    return kWidth95 * std::sqrt(white_variance(truth, setting.white_jitter * setting.interval_s));
  }
  const auto steps = static_cast<double>(truth.expected - 1);
  return kWidth95 * setting.accumulating_jitter * setting.interval_s / std::sqrt(steps);
}

double chance_of_at_most(std::uint64_t hits, std::uint64_t trials, double share) {
  if (share <= 0 || hits >= trials) return 1;
  if (share >= 1) return 0;
  return sum_binomial(0, hits, trials, share);
}

double chance_of_at_least(std::uint64_t hits, std::uint64_t trials, double share) {
  if (hits == 0 || share >= 1) return 1;
  if (share <= 0) return 0;
  return sum_binomial(hits, trials, trials, share);
}

bool plausible(std::uint64_t hits, std::uint64_t trials, const Limits& limits, double false_alarm) {
  return chance_of_at_most(hits, trials, limits.least) >= false_alarm &&
         chance_of_at_least(hits, trials, limits.most) >= false_alarm;
}

}  // namespace fieldfare::truth
