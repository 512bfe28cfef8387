// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/comparison.h"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "fieldfare/base/random.h"

namespace fieldfare::stats {
namespace {

TEST(EnNumber, IsTheDistanceInCombinedUncertainties) {
  // 3-4-5 triangle: exact case.
  EXPECT_NEAR(en_number({10.05, 0.03}, {10.00, 0.04}), 1.000, 1e-9);
  EXPECT_NEAR(en_number({9.95, 0.03}, {10.00, 0.04}), -1.000, 1e-9);
  EXPECT_EQ(en_number({10, 0}, {10, 0.1}), 0);
}

TEST(RunsTest, AgreesWithTheFormulaOfWaldAndWolfowitz) {
  // Computed with Python from the formula (from memory).
  const RunsTest test = runs_test(10, 10, 6);
  EXPECT_NEAR(test.expected, 11, 1e-12);
  EXPECT_NEAR(test.variance, 4.7368, 5e-5);
  EXPECT_NEAR(test.z, -2.2973, 5e-5);
}

TEST(RunsTest, CountsRunsAboutTheMedian) {
  // By hand: the median is 3; low low high | (3 left out) high low high.
  const std::vector<double> x = {1, 2, 5, 3, 6, 0, 4};
  const RunsTest test = runs_about_median(x);
  EXPECT_EQ(test.runs, 4u);
  EXPECT_EQ(test.expected, 4);
}

TEST(RunsTest, IndependentValuesGiveAStandardNormal) {
  // Five standard errors; fixed seed.
  constexpr int kTrials = 5000;
  RandomStream random{1, "runs"};
  double sum = 0, squares = 0;
  for (int trial = 0; trial < kTrials; ++trial) {
    std::vector<double> x(60);
    for (double& value : x) value = random.normal();
    const double z = runs_about_median(x).z;
    sum += z;
    squares += z * z;
  }
  EXPECT_NEAR(sum / kTrials, 0, 5 / std::sqrt(kTrials));
  EXPECT_NEAR(squares / kTrials, 1, 5 * std::sqrt(2.0 / kTrials));
}

}  // namespace
}  // namespace fieldfare::stats
