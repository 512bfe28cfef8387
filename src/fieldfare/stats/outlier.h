// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

namespace fieldfare::stats {

enum class Sides : std::uint8_t { one, two };

/// The largest Grubbs statistic that `n` normal values exceed with probability
/// `alpha` only:
///
///     (n-1)/sqrt(n) sqrt(t^2 / (n-2+t^2)),   t the upper alpha/n quantile of
///
/// Student's distribution with n-2 degrees of freedom; alpha/2n for two sides.
/// One side is meant where it was clear beforehand that only the largest (or
/// only the smallest) could be wrong.
/// Preconditions: n >= 3, 0 < alpha < 1.
/// Source: F. E. Grubbs, Technometrics 11 (1969) 1-21; NIST/SEMATECH e-Handbook
/// 1.3.5.17.1.
double grubbs_critical(std::size_t n, double alpha, Sides sides);

struct GrubbsTest {
  double statistic;                    ///< largest distance from the mean in standard deviations
  double critical;                     ///< at `alpha`, two sides
  std::optional<std::size_t> outlier;  ///< index of the value, where statistic > critical
};

/// Looks for one outlier among normal values, on either side. Values that are
/// all equal have no outlier. Preconditions: as grubbs_critical().
GrubbsTest grubbs(std::span<const double> x, double alpha);

}  // namespace fieldfare::stats
