// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>

#include "generator.h"

/// What an estimator could reach at best, and how a count of hits is held
/// against a limit. All closed forms here are standard results quoted from
/// memory; the test holds them against each other and against simulation.
namespace fieldfare::truth {

/// Width of the 95 % interval of a normal deviate with standard deviation 1.
inline constexpr double kWidth95 = 2 * 1.959963984540054;

/// How losses come in a log of a setting: stationary share q of reports lost to
/// all receivers, and the variance of the observed share times n for large n,
///
///     V = sum over all lags of the covariance of the loss indicators.
///
/// For one chain q = p / (p + r), V = q (1 - q) (1 + m) / (1 - m), m = 1 - p - r,
/// which is also the delta method applied to the two transition rates with their
/// Fisher information. For two receivers with fates of their own a report is lost
/// where both chains are bad, and the covariances multiply out.
struct LossPattern {
  double share = 0;          ///< q
  double variance = 0;       ///< V
  double runs_a_report = 0;  ///< loss runs begun per report sent
};
LossPattern loss_pattern(const Setting& setting);

/// V of one chain by the delta method; 0 < p, r.
double delta_method_variance(const Loss& loss);

/// Width of the asymptotic 95 % interval of the delivery after `reports`.
double delivery_width(const LossPattern& pattern, std::uint64_t reports);

/// Width of the asymptotic 95 % interval of the report interval, in s, where the
/// sizes of the jitter are known and one kind of it is absent:
/// white: the least squares line through the heard reports of the last run,
///     var = s^2 / sum (k - mean k)^2;
/// accumulating: last minus first heard over the steps between, var = s^2 / steps.
/// For logs without restarts and changes.
double interval_width(const Setting& setting, const Truth& truth);

/// P(X <= hits) and P(X >= hits) of a binomial count, exact summation.
double chance_of_at_most(std::uint64_t hits, std::uint64_t trials, double share);
double chance_of_at_least(std::uint64_t hits, std::uint64_t trials, double share);

/// Whether `hits` of `trials` can come from a share within [least, most]: false
/// where the nearest share allowed makes so extreme a count less likely than
/// `false_alarm`.
struct Limits {
  double least = 0;
  double most = 1;
};
bool plausible(std::uint64_t hits, std::uint64_t trials, const Limits& limits, double false_alarm);

}  // namespace fieldfare::truth
