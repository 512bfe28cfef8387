// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>

namespace fieldfare::stats {

/// The middle value, or the mean of the two middle ones. Precondition: not empty.
double median(std::span<const double> x);

/// Median of the distances from the median, unscaled. For normal values about
/// 0.6745 standard deviations. Precondition: not empty.
double median_absolute_deviation(std::span<const double> x);

struct RobustMean {
  double mean;
  double sd;
};

/// Algorithm A: mean and standard deviation that a fifth of wild values cannot
/// carry off. Starts from the median and 1.483 times the median absolute
/// deviation; pulls values in to 1.5 standard deviations; takes the mean and 1.134
/// times the standard deviation of what results; repeats until it settles.
///
/// Where more than half of the values are equal the deviation is 0 from the
/// start and the answer is that value with `sd` 0.
/// Precondition: at least 2 values.
/// Source: ISO 13528 annex C.3.1 (constants from memory).
RobustMean robust_mean(std::span<const double> x);

}  // namespace fieldfare::stats
