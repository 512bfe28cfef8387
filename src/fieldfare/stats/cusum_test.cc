// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/cusum.h"

#include <gtest/gtest.h>

#include <cmath>

#include "fieldfare/base/random.h"

namespace fieldfare::stats {
namespace {

struct Row {
  const char* source;
  double k;
  double h;
  double shift;
  double arl;
  double relative;
};

const Row kTwoSided[] = {
    {"NIST/SEMATECH e-Handbook 6.3.2.3, as quoted in public copies", 0.5, 5, 0, 465, 0.005},
    {"NIST/SEMATECH e-Handbook 6.3.2.3, as quoted in public copies", 0.5, 5, 0, 465.4434, 1e-6},
    {"NIST/SEMATECH e-Handbook 6.3.2.3, as quoted in public copies", 0.5, 5, 1, 10.4, 0.005},
    {"NIST/SEMATECH e-Handbook 6.3.2.3, as quoted in public copies", 0.5, 5, 1.5, 5.75, 0.005},
    {"NIST/SEMATECH e-Handbook 6.3.2.3, as quoted in public copies", 0.5, 5, 2, 4.01, 0.005},
    {"the same table, from memory", 0.5, 4, 0, 168, 0.005},
    {"the same table, from memory", 0.5, 4, 0.5, 26.6, 0.005},
    {"the same table, from memory", 0.5, 4, 1, 8.38, 0.005},
    {"the same table, from memory", 0.5, 4, 2, 3.34, 0.005},
    {"Hawkins (1993) design for 370, from memory", 0.5, 4.77, 0, 370, 0.005},
    {"Hawkins (1993) design for 370, from memory", 0.25, 8.01, 0, 370, 0.005},
};

TEST(CusumArl, AgreesWithPublishedRunLengths) {
  for (const Row& row : kTwoSided) {
    const double arl = cusum_arl_two_sided({row.k, row.h}, row.shift);
    EXPECT_NEAR(arl, row.arl, row.relative * row.arl) << row.source << ", h = " << row.h;
  }
}

// Independent implementation: the same integral equation with 50 and with 60
// nodes in 50-digit arithmetic (mpmath), solved as ordinary linear equations;
// the two agreed in all digits shown.
const Row kOneSided[] = {
    {"mpmath", 0.5, 4, 0, 335.367577627231, 1e-12},
    {"mpmath", 0.5, 5, 0, 930.887012064124, 1e-12},
    {"mpmath", 0.5, 5, 1, 10.3759753002077, 1e-12},
    {"mpmath", 0.5, 5, -1, 20016458.9340682, 1e-12},
    {"mpmath", 0.25, 8.01, 0, 740.664877418708, 1e-12},
    {"mpmath", 0, 10, 0, 124.66156411117, 1e-12},
    {"mpmath", 0.5, 0.01, 0, 3.27834578193328, 1e-12},
    {"mpmath", 1, 10, 0, 2362548334.09689, 1e-11},
    {"mpmath", 2, 10, 0, 2.07310050545453e+18, 1e-10},
};

TEST(CusumArl, OneSidedAgreesWithAnIndependentSolutionEvenForHugeLengths) {
  for (const Row& row : kOneSided) {
    const double arl = cusum_arl_one_sided({row.k, row.h}, row.shift);
    EXPECT_NEAR(arl, row.arl, row.relative * row.arl) << row.k << ' ' << row.h;
  }
}

TEST(CusumArl, ATinyIntervalIsAChartOfSingleValues) {
  // Limiting case: with h -> 0 every value above k speaks.
  const double arl = cusum_arl_one_sided({1, 1e-9}, 0);
  EXPECT_NEAR(arl, 1 / (std::erfc(1 / std::sqrt(2.0)) / 2), 1e-6);
}

TEST(CusumArl, IsTheSameForShiftsEitherWay) {
  EXPECT_DOUBLE_EQ(cusum_arl_two_sided({0.5, 4}, 1), cusum_arl_two_sided({0.5, 4}, -1));
}

TEST(CusumArl, LongIntervalsSettle) {
  // Limiting case: far above k the sum climbs by shift - k a value.
  const double arl = cusum_arl_one_sided({0.5, 50}, 3);
  EXPECT_NEAR(arl, 50 / 2.5, 1);
  EXPECT_GT(cusum_arl_one_sided({2, 50}, -2), 1e60);
}

TEST(CusumArl, TheTwoSidedChartRunsAsLongWhenItIsRun) {
  // Simulated with the tabular definition itself; five standard errors.
  constexpr int kRuns = 20'000;
  RandomStream random{1, "cusum"};
  double total = 0, squares = 0;
  for (int run = 0; run < kRuns; ++run) {
    double high = 0, low = 0, length = 0;
    while (high <= 4 && low <= 4) {
      const double x = random.normal() + 0.5;
      high = std::fmax(0, high + x - 0.5);
      low = std::fmax(0, low - x - 0.5);
      ++length;
    }
    total += length;
    squares += length * length;
  }
  const double mean = total / kRuns;
  const double error = std::sqrt((squares / kRuns - mean * mean) / kRuns);
  EXPECT_NEAR(cusum_arl_two_sided({0.5, 4}, 0.5), mean, 5 * error);
}

}  // namespace
}  // namespace fieldfare::stats
