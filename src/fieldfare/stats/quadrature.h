// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <vector>

namespace fieldfare::stats {

/// Where to take a function, and with what weights, to integrate it.
struct Quadrature {
  std::vector<double> nodes;
  std::vector<double> weights;
};

/// Gauss-Legendre rule of `n` nodes over [low, high], in ascending order: exact
/// for polynomials up to degree 2n - 1, to some 1e-14 relative.
/// Preconditions: n > 0, low < high.
/// Source: Abramowitz & Stegun, Handbook of Mathematical Functions, 25.4.29.
Quadrature gauss_legendre(std::size_t n, double low, double high);

}  // namespace fieldfare::stats
