// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/quadrature.h"

#include <cassert>
#include <cmath>
#include <numbers>

namespace fieldfare::stats {
namespace {

struct Legendre {
  double value;
  double slope;
};

/// The Legendre polynomial of degree n, inside (-1, 1), by its recurrence.
Legendre legendre(std::size_t n, double x) {
  double before = 1, here = x;
  for (std::size_t j = 2; j <= n; ++j) {
    const auto degree = static_cast<double>(j);
    const double next = ((2 * degree - 1) * x * here - (degree - 1) * before) / degree;
    before = here;
    here = next;
  }
  return {here, static_cast<double>(n) * (x * here - before) / (x * x - 1)};
}

}  // namespace

Quadrature gauss_legendre(std::size_t n, double low, double high) {
  assert(n > 0 && low < high);
  Quadrature out{std::vector<double>(n), std::vector<double>(n)};
  const double half = (high - low) / 2;
  for (std::size_t i = 0; i < n; ++i) {
    // Tricomi's approximation of the i-th root from above is near enough for
    // Newton's method to settle within a few steps.
    const double angle = std::numbers::pi * (static_cast<double>(i) + 0.75);
    double x = std::cos(angle / (static_cast<double>(n) + 0.5));
    for (int step = 0; step < 10; ++step) {
      const Legendre p = legendre(n, x);
      x -= p.value / p.slope;
    }
    const double slope = legendre(n, x).slope;
    out.nodes[n - 1 - i] = low + half * (x + 1);
    out.weights[n - 1 - i] = half * 2 / ((1 - x * x) * slope * slope);
  }
  return out;
}

}  // namespace fieldfare::stats
