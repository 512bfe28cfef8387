// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/quadrature.h"

#include <gtest/gtest.h>

#include <cmath>

namespace fieldfare::stats {
namespace {

TEST(GaussLegendre, TwoAndThreeNodesAreTheTabulatedOnes) {
  // Abramowitz & Stegun, table 25.4 (closed forms).
  const Quadrature two = gauss_legendre(2, -1, 1);
  EXPECT_NEAR(two.nodes[1], 1 / std::sqrt(3.0), 1e-15);
  EXPECT_NEAR(two.weights[0], 1, 1e-15);
  const Quadrature three = gauss_legendre(3, -1, 1);
  EXPECT_NEAR(three.nodes[0], -std::sqrt(0.6), 1e-15);
  EXPECT_NEAR(three.nodes[1], 0, 1e-15);
  EXPECT_NEAR(three.weights[1], 8.0 / 9, 1e-15);
  EXPECT_NEAR(gauss_legendre(1, 2, 4).nodes[0], 3, 1e-15);
}

TEST(GaussLegendre, IsExactUpToDegreeTwiceTheNodesLessOne) {
  for (const std::size_t n : {1u, 5u, 16u, 64u}) {
    const Quadrature rule = gauss_legendre(n, 0, 1);
    const auto degree = static_cast<double>(2 * n - 1);
    double sum = 0;
    for (std::size_t i = 0; i < n; ++i) sum += rule.weights[i] * std::pow(rule.nodes[i], degree);
    EXPECT_NEAR(sum, 1 / (degree + 1), 1e-14) << n;
  }
}

TEST(GaussLegendre, WeightsAddUpToTheLengthEvenWithManyNodes) {
  const Quadrature rule = gauss_legendre(400, 3, 5);
  double sum = 0;
  for (const double weight : rule.weights) sum += weight;
  EXPECT_NEAR(sum, 2, 1e-12);
}

}  // namespace
}  // namespace fieldfare::stats
