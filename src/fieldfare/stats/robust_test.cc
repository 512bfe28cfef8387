// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/robust.h"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "fieldfare/base/random.h"

namespace fieldfare::stats {
namespace {

// The 34 antibody concentrations of ISO 13528's example, as quoted in public
// test copies.
const std::vector<double> kAntibody = {
    0.0400, 0.0550, 0.1780, 0.2020, 0.2060, 0.2270, 0.2280, 0.2300, 0.2300, 0.2350, 0.2360, 0.2370,
    0.2430, 0.2440, 0.2450, 0.2555, 0.2600, 0.2640, 0.2670, 0.2700, 0.2730, 0.2740, 0.2740, 0.2780,
    0.2810, 0.2870, 0.2870, 0.2880, 0.2890, 0.2950, 0.2960, 0.3110, 0.3310, 0.4246};

TEST(RobustMean, AgreesWithTheExampleOfIso13528) {
  const RobustMean robust = robust_mean(kAntibody);
  // The deviation is the published one; the mean was computed with Python.
  EXPECT_NEAR(robust.sd, 0.0395, 0.00005);
  EXPECT_NEAR(robust.mean, 0.2570, 0.0001);
}

TEST(RobustMean, HardlyNoticesAWildValue) {
  std::vector<double> wild = kAntibody;
  wild.push_back(1e9);
  EXPECT_NEAR(robust_mean(wild).mean, robust_mean(kAntibody).mean, 0.003);
}

TEST(RobustMean, MovesAndScalesWithTheValues) {
  std::vector<double> moved;
  moved.reserve(kAntibody.size());
  for (const double x : kAntibody) moved.push_back(100 + 10 * x);
  const RobustMean before = robust_mean(kAntibody), after = robust_mean(moved);
  EXPECT_NEAR(after.mean, 100 + 10 * before.mean, 1e-9);
  EXPECT_NEAR(after.sd, 10 * before.sd, 1e-9);
}

TEST(RobustMean, IsAboutTheMeanAndDeviationOfNormalValues) {
  RandomStream random{1, "robust"};
  std::vector<double> x(100'000);
  for (double& value : x) value = 3 + 2 * random.normal();
  EXPECT_NEAR(robust_mean(x).mean, 3, 5 * 2 * 1.03 / std::sqrt(1e5));
  EXPECT_NEAR(robust_mean(x).sd, 2, 0.03);
}

TEST(RobustMean, OfMostlyEqualValuesIsThatValue) {
  const std::vector<double> x = {5, 5, 5, 5, 9};
  EXPECT_EQ(robust_mean(x).mean, 5);
  EXPECT_EQ(robust_mean(x).sd, 0);
}

TEST(Median, IsTheMiddleOrTheMeanOfTheTwoMiddleOnes) {
  EXPECT_EQ(median(std::vector<double>{3, 1, 2}), 2);
  EXPECT_EQ(median(std::vector<double>{4, 1, 3, 2}), 2.5);
  EXPECT_EQ(median(std::vector<double>{7}), 7);
  EXPECT_NEAR(median(kAntibody), 0.262, 1e-12);  // stated with the example
}

TEST(MedianAbsoluteDeviation, IsTheMedianDistance) {
  // By hand: the median of 1 1 2 2 4 6 9 is 2, the distances are 1 1 0 0 2 4 7.
  EXPECT_EQ(median_absolute_deviation(std::vector<double>{1, 1, 2, 2, 4, 6, 9}), 1);
}

}  // namespace
}  // namespace fieldfare::stats
