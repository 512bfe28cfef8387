// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/outlier.h"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "fieldfare/base/random.h"

namespace fieldfare::stats {
namespace {

// Mass spectrometer values of Tietjen & Moore (1972), as in NIST/SEMATECH
// e-Handbook 1.3.5.17.1, quoted in public copies.
const std::vector<double> kUranium = {199.31, 199.53, 200.19, 200.82,
                                      201.92, 201.95, 202.18, 245.57};

TEST(Grubbs, AgreesWithThePublishedTest) {
  const GrubbsTest test = grubbs(kUranium, 0.05);
  EXPECT_NEAR(test.statistic, 2.46876, 5e-6);
  EXPECT_EQ(test.outlier, 7u);
}

TEST(Grubbs, CriticalValuesAgreeWithPublishedAndComputedOnes) {
  // n = 8: the same page, 2.0317 for one side and 2.126 for two. The others
  // from SciPy's Student quantiles.
  EXPECT_NEAR(grubbs_critical(8, 0.05, Sides::one), 2.0317, 5e-5);
  EXPECT_NEAR(grubbs_critical(8, 0.05, Sides::two), 2.1266, 5e-5);
  EXPECT_NEAR(grubbs_critical(3, 0.05, Sides::two), 1.1543048513440386, 1e-12);
  EXPECT_NEAR(grubbs_critical(100, 0.01, Sides::two), 3.754004372104012, 1e-12);
}

TEST(Grubbs, NoValueOfThreeCanBeFartherThanTheLimit) {
  // Exact case: (n-1)/sqrt(n) bounds the statistic.
  EXPECT_LT(grubbs_critical(3, 1e-6, Sides::two), 2 / std::sqrt(3.0));
}

TEST(Grubbs, ATinyAlphaTendsToTheLimit) {
  for (const std::size_t n : {3u, 4u, 8u, 100u}) {
    const double limit = (static_cast<double>(n) - 1) / std::sqrt(static_cast<double>(n));
    EXPECT_LE(grubbs_critical(n, 1e-307, Sides::two), limit * (1 + 1e-15)) << n;
  }
}

TEST(Grubbs, FindsALowOutlierToo) {
  std::vector<double> mirrored;
  mirrored.reserve(kUranium.size());
  for (const double x : kUranium) mirrored.push_back(-x);
  EXPECT_EQ(grubbs(mirrored, 0.05).outlier, 7u);
}

TEST(Grubbs, EqualValuesHaveNoOutlier) {
  EXPECT_FALSE(grubbs(std::vector<double>(5, 3.3), 0.05).outlier);
}

TEST(Grubbs, ErrsAsOftenAsAlphaOnNormalValues) {
  // Five standard errors; fixed seed.
  constexpr int kTrials = 20'000;
  RandomStream random{1, "grubbs"};
  int found = 0;
  for (int trial = 0; trial < kTrials; ++trial) {
    std::vector<double> x(10);
    for (double& value : x) value = random.normal();
    found += grubbs(x, 0.05).outlier ? 1 : 0;
  }
  EXPECT_NEAR(found / double{kTrials}, 0.05, 5 * std::sqrt(0.05 * 0.95 / kTrials));
}

}  // namespace
}  // namespace fieldfare::stats
