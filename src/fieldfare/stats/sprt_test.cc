// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/sprt.h"

#include <gtest/gtest.h>

#include <cmath>

namespace fieldfare::stats {
namespace {

constexpr SprtDesign kTenThirty{0.1, 0.3, 0.02, 0.03};
constexpr SprtDesign kFiveTen{0.05, 0.10, 0.05, 0.05};

TEST(Sprt, LinesAgreeWithWaldsFormula) {
  // Computed with Python from A = (1 - beta)/alpha, B = beta/(1 - alpha) and the
  // acceptance and rejection lines of Wald (1947), formula from memory.
  const SprtLines ten_thirty = sprt_lines(kTenThirty);
  EXPECT_NEAR(ten_thirty.slope, 0.18617, 5e-6);
  EXPECT_NEAR(ten_thirty.intercept_low, -2.5826, 5e-5);
  EXPECT_NEAR(ten_thirty.intercept_high, 2.8754, 5e-5);
  const SprtLines five_ten = sprt_lines(kFiveTen);
  EXPECT_NEAR(five_ten.slope, 0.072358, 5e-7);
  EXPECT_NEAR(five_ten.intercept_low, -3.94055, 5e-6);
  EXPECT_NEAR(five_ten.intercept_high, 3.94055, 5e-6);
}

TEST(Sprt, ExpectedReportsAgreeWithWaldsApproximation) {
  // Computed with Python from Wald's closed forms, formula from memory.
  EXPECT_NEAR(sprt_expected_reports(kTenThirty, 0.1), 28.70, 0.005);
  EXPECT_NEAR(sprt_expected_reports(kTenThirty, 0.3), 23.82, 0.005);
  EXPECT_NEAR(sprt_expected_reports(kFiveTen, 0.05), 158.6, 0.05);
  EXPECT_NEAR(sprt_expected_reports(kFiveTen, 0.10), 128.3, 0.05);
}

TEST(Sprt, ExpectedReportsPassSmoothlyThroughTheSlopeWhereTheDriftVanishes) {
  const double slope = sprt_lines(kTenThirty).slope;
  EXPECT_NEAR(sprt_expected_reports(kTenThirty, slope), 49.01, 0.005);
  for (const double step : {1e-4, 1e-6, 1e-8, 1e-10}) {
    EXPECT_NEAR(sprt_expected_reports(kTenThirty, slope + step), 49.01, 0.03) << step;
    EXPECT_NEAR(sprt_expected_reports(kTenThirty, slope - step), 49.01, 0.03) << step;
  }
}

TEST(Sprt, ExpectedReportsFarFromTheDesignAreThoseOfAStraightClimb) {
  // Limiting case: almost without loss every report counts the same.
  const SprtLines lines = sprt_lines(kFiveTen);
  EXPECT_NEAR(sprt_expected_reports(kFiveTen, 1e-12), -lines.intercept_low / lines.slope, 1e-6);
  EXPECT_NEAR(sprt_expected_reports(kFiveTen, 1 - 1e-12), lines.intercept_high / (1 - lines.slope),
              1e-6);
}

struct Behaviour {
  SprtDesign design;
  double loss;
  double expected_reports;
  double passed;
  double failed;
};

// Independent implementation: the same recursion written over a Python dictionary
// in 30-digit arithmetic (mpmath), run until 1e-16 was undecided.
const Behaviour kRecursion[] = {
    {kFiveTen, 0.05, 163.44305448901, 0.96053288507019, 0.039467114929809},
    {kFiveTen, 0.10, 140.08146978695, 0.04914085315705, 0.95085914684295},
    {kFiveTen, 0.072358, 252.83729905992, 0.51716214746218, 0.48283785253782},
    {kTenThirty, 0.1, 29.901808313834, 0.98630783978252, 0.013692160217477},
    {kTenThirty, 0.3, 26.602206874327, 0.027423603764966, 0.97257639623503},
};

TEST(SprtBehaviour, AgreesWithAnIndependentRecursion) {
  for (const Behaviour& row : kRecursion) {
    const SprtBehaviour got = sprt_behaviour(row.design, row.loss);
    EXPECT_NEAR(got.expected_reports, row.expected_reports, 1e-8);
    EXPECT_NEAR(got.passed, row.passed, 1e-10);
    EXPECT_NEAR(got.failed, row.failed, 1e-10);
    EXPECT_LT(got.undecided, 1e-12);
  }
}

TEST(SprtBehaviour, WithoutAnyLossTheNodePassesAtTheReportWhereTheLineReachesZero) {
  // Exact case: intercept_low + slope n >= 0 first holds at n = ceil(-low/slope).
  const SprtLines lines = sprt_lines(kFiveTen);
  const SprtBehaviour got = sprt_behaviour(kFiveTen, 0);
  EXPECT_EQ(got.passed, 1);
  EXPECT_EQ(got.expected_reports, std::ceil(-lines.intercept_low / lines.slope));
}

TEST(SprtBehaviour, LosingEveryReportFailsTheNodeAtOnce) {
  const SprtLines lines = sprt_lines(kFiveTen);
  const SprtBehaviour got = sprt_behaviour(kFiveTen, 1);
  EXPECT_EQ(got.failed, 1);
  EXPECT_EQ(got.expected_reports, std::ceil(lines.intercept_high / (1 - lines.slope)));
}

TEST(SprtBehaviour, ACutTestSaysHowMuchIsUndecidedAndLosesNoProbability) {
  const SprtBehaviour got = sprt_behaviour(kFiveTen, 0.07, 100);
  EXPECT_GT(got.undecided, 0.1);
  EXPECT_NEAR(got.passed + got.failed + got.undecided, 1, 1e-12);
  EXPECT_LE(got.expected_reports, 100);
}

}  // namespace
}  // namespace fieldfare::stats
