// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/proportion.h"

#include <gtest/gtest.h>

#include <cmath>

namespace fieldfare::stats {
namespace {

struct Row {
  const char* source;
  std::uint64_t k;
  std::uint64_t n;
  double low;
  double high;
  double tolerance;
};

// Rows 81/263 and 0/20 of the score interval were seen in public copies that
// quote Newcombe's table; all other rows were computed with Python from the
// formula (Wilson) and from SciPy's beta quantiles (Clopper-Pearson).
const Row kWilson[] = {
    {"Newcombe (1998), table I, method 3", 81, 263, 0.2553, 0.3662, 1e-4},
    {"Newcombe (1998), table I, method 3", 0, 20, 0.0000, 0.1611, 1e-4},
    {"computed from the formula", 995, 1000, 0.98835, 0.99786, 1e-5},
    {"computed from the formula", 29, 29, 0.88303, 1, 1e-5},
    {"computed from the formula", 7, 10, 0.39678, 0.89221, 1e-5},
};
const Row kClopperPearson[] = {
    {"Newcombe (1998), table I, method 5, row from memory", 81, 263, 0.2527, 0.3676, 1e-4},
    {"Newcombe (1998), table I, method 5, row from memory", 0, 20, 0, 0.1684, 1e-4},
    {"computed from beta quantiles", 29, 29, 0.88056, 1, 1e-5},
    {"computed from beta quantiles", 7, 10, 0.34755, 0.93326, 1e-5},
};

TEST(Wilson, AgreesWithPublishedIntervals) {
  for (const Row& row : kWilson) {
    const Interval interval = wilson(row.k, row.n, 0.95);
    EXPECT_NEAR(interval.low, row.low, row.tolerance) << row.source;
    EXPECT_NEAR(interval.high, row.high, row.tolerance) << row.source;
  }
}

TEST(ClopperPearson, AgreesWithPublishedIntervals) {
  for (const Row& row : kClopperPearson) {
    const Interval interval = clopper_pearson(row.k, row.n, 0.95);
    EXPECT_NEAR(interval.low, row.low, row.tolerance) << row.source;
    EXPECT_NEAR(interval.high, row.high, row.tolerance) << row.source;
  }
}

TEST(ClopperPearson, WithNothingHeardIsTheClosedForm) {
  // Exact case: nothing in n trials happens with probability (1-p)^n.
  for (const std::uint64_t n : {1u, 12u, 1000u}) {
    const double high = 1 - std::pow(0.025, 1.0 / static_cast<double>(n));
    EXPECT_NEAR(clopper_pearson(0, n, 0.95).high, high, 1e-12);
    EXPECT_NEAR(clopper_pearson(n, n, 0.95).low, 1 - high, 1e-12);
  }
}

TEST(Proportion, IntervalsHoldTheRatioMirrorAndStayWithinZeroAndOne) {
  for (const auto interval_of : {wilson, clopper_pearson}) {
    for (std::uint64_t n = 1; n < 40; ++n) {
      for (std::uint64_t k = 0; k <= n; ++k) {
        const Interval interval = interval_of(k, n, 0.95);
        const Interval mirrored = interval_of(n - k, n, 0.95);
        const double p = static_cast<double>(k) / static_cast<double>(n);
        ASSERT_LE(interval.low, p);
        ASSERT_GE(interval.high, p);
        ASSERT_GE(interval.low, 0);
        ASSERT_LE(interval.high, 1);
        ASSERT_NEAR(interval.low, 1 - mirrored.high, 1e-12);
      }
    }
  }
}

TEST(Proportion, AllHeardReachesExactlyOneAndNoneExactlyZero) {
  for (const auto interval_of : {wilson, clopper_pearson}) {
    EXPECT_EQ(interval_of(12, 12, 0.95).high, 1);
    EXPECT_EQ(interval_of(0, 12, 0.95).low, 0);
  }
}

TEST(ClopperPearson, IsWiderWithMoreConfidence) {
  EXPECT_LT(clopper_pearson(7, 10, 0.99).low, clopper_pearson(7, 10, 0.9).low);
  EXPECT_GT(clopper_pearson(7, 10, 0.99).high, clopper_pearson(7, 10, 0.9).high);
}

}  // namespace
}  // namespace fieldfare::stats
