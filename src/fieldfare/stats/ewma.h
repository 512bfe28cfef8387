// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <vector>

namespace fieldfare::stats {

/// Exponentially weighted moving average: z_i = lambda x_i + (1 - lambda) z_{i-1}
/// with z_0 = `start`; one value for each x. Precondition: 0 < lambda <= 1.
/// Source: S. W. Roberts, Technometrics 1 (1959); NIST/SEMATECH e-Handbook 6.3.2.4.
std::vector<double> ewma(std::span<const double> x, double lambda, double start);

/// How far z_i strays from the mean in the long run, in standard deviations of
/// x: sqrt(lambda / (2 - lambda)). Source: as ewma().
double ewma_asymptotic_sd(double lambda);

}  // namespace fieldfare::stats
