// SPDX-License-Identifier: Apache-2.0
#include "yardstick.h"

#include <gtest/gtest.h>

#include <cmath>

namespace fieldfare::truth {
namespace {

TEST(LossPattern, LongRunVarianceIsTheDeltaMethodOnTheTwoRates) {
  for (const Loss loss : {Loss::independent(0.1), Loss::bursty(0.2, 4), Loss::bursty(0.6, 8)}) {
    Setting setting;
    setting.losses = {loss};
    EXPECT_NEAR(loss_pattern(setting).variance, delta_method_variance(loss), 1e-12);
  }
}

// A binomial share has variance q (1 - q) / n: the exact case.
TEST(LossPattern, IndependentLossIsBinomial) {
  Setting setting;
  setting.losses = {Loss::independent(0.3)};
  EXPECT_DOUBLE_EQ(loss_pattern(setting).variance, 0.21);
  EXPECT_DOUBLE_EQ(loss_pattern(setting).runs_a_report, 0.21);
  setting.losses = {Loss::independent(0.3), Loss::independent(0.5)};
  EXPECT_NEAR(loss_pattern(setting).variance, 0.15 * 0.85, 1e-12);
  EXPECT_NEAR(loss_pattern(setting).runs_a_report, 0.15 * 0.85, 1e-12);
}

// The spread of the observed share over 1,000 generated logs; 5 standard errors.
TEST(LossPattern, PredictsTheSpreadAndTheRunsOfGeneratedLogs) {
  for (const bool two : {false, true}) {
    Setting setting;
    setting.reports = 2000;
    setting.losses = {Loss::bursty(0.3, 4)};
    if (two) setting.losses.push_back(Loss::bursty(0.2, 2));
    const LossPattern pattern = loss_pattern(setting);
    double squares = 0;
    double runs = 0;
    for (setting.seed = 1; setting.seed <= 1000; ++setting.seed) {
      double lost = 0;
      bool before = true;
      for (const SentReport& report : generate(setting).truth.sent) {
        const bool heard = report.heard_ns.has_value();
        lost += heard ? 0 : 1;
        runs += !heard && before ? 1 : 0;
        before = heard;
      }
      squares += std::pow(lost / 2000 - pattern.share, 2);
    }
    EXPECT_NEAR(squares / 1000 * 2000 / pattern.variance, 1, 5 * std::sqrt(2.0 / 1000));
    EXPECT_NEAR(runs / 2e6 / pattern.runs_a_report, 1, 0.02);
  }
}

// Least squares over n equally spaced points: s sqrt(12 / (n (n^2 - 1))), exact.
TEST(IntervalWidth, IsThatOfALineWhereAllIsHeard) {
  Setting setting;
  setting.reports = 200;
  setting.white_jitter = 0.01;
  const double line_s = kWidth95 * 0.31 * std::sqrt(12 / (200.0 * (200.0 * 200.0 - 1)));
  EXPECT_NEAR(interval_width(setting, generate(setting).truth), line_s, 1e-9);
  setting.white_jitter = 0;
  setting.accumulating_jitter = 0.01;
  EXPECT_NEAR(interval_width(setting, generate(setting).truth), kWidth95 * 0.31 / std::sqrt(199),
              1e-9);
}

// Counted by hand: P(X <= 1) of 3 at 1/2 is 4/8; P(X >= 10) of 10 at 0.9 is 0.9^10.
TEST(Binomial, TailsAreExact) {
  EXPECT_NEAR(chance_of_at_most(1, 3, 0.5), 0.5, 1e-14);
  EXPECT_NEAR(chance_of_at_least(10, 10, 0.9), std::pow(0.9, 10), 1e-13);
  EXPECT_NEAR(chance_of_at_most(90, 100, 0.95) + chance_of_at_least(91, 100, 0.95), 1, 1e-12);
  EXPECT_EQ(chance_of_at_most(99, 100, 1), 0);
  EXPECT_EQ(chance_of_at_most(100, 100, 1), 1);
  EXPECT_EQ(chance_of_at_least(1, 100, 0), 0);
}

TEST(Binomial, CountsWithinTheLimitsArePlausibleAndFarOnesAreNot) {
  const Limits limits{0.925, 0.975};
  EXPECT_TRUE(plausible(95, 100, limits, 1e-4));
  EXPECT_TRUE(plausible(100, 100, limits, 1e-4));
  EXPECT_FALSE(plausible(70, 100, limits, 1e-4));
  EXPECT_FALSE(plausible(1000, 1000, limits, 1e-4));
  EXPECT_FALSE(plausible(880, 1000, limits, 1e-4));
}

}  // namespace
}  // namespace fieldfare::truth
