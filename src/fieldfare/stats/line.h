// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <span>

namespace fieldfare::stats {

struct LineFit {
  double intercept;
  double slope;
  double intercept_sd;  ///< standard errors; for two points, which leave no
  double slope_sd;      ///< residual, these and residual_sd are 0
  double residual_sd;
};

/// Least squares line y = intercept + slope x. Sums are compensated, so that
/// intercept and slope are good to about 1e-12 relative even where the intercept
/// is a thousand times smaller than the values (NIST StRD Norris).
/// Preconditions: equal sizes, at least 2 points, not all x equal.
/// Source: Draper & Smith, Applied Regression Analysis, chapter 1.
LineFit fit_line(std::span<const double> x, std::span<const double> y);

/// More points than these have too many pairs for theil_sen().
inline constexpr std::size_t kMostTheilSenPoints = 3000;

struct Line {
  double intercept;
  double slope;
};

/// A line that nearly three in ten wild points cannot carry off: the slope is
/// the median of the slopes of all pairs with different x, the intercept the
/// median of y - slope x. Both are infinite where the slope exceeds the range of
/// double. Preconditions: as fit_line(), and at most
/// kMostTheilSenPoints; takes memory for all pairs.
/// Source: P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379-1389.
Line theil_sen(std::span<const double> x, std::span<const double> y);

}  // namespace fieldfare::stats
