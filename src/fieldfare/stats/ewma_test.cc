// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/ewma.h"

#include <gtest/gtest.h>

#include <vector>

namespace fieldfare::stats {
namespace {

// NIST/SEMATECH e-Handbook 6.3.2.4, lambda = 0.3, start 50, as quoted in public
// copies; printed to two decimals.
const std::vector<double> kMeasured = {52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5,
                                       49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1};
const std::vector<double> kPublished = {50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75,
                                        49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05,
                                        49.38, 49.92, 50.73, 51.23, 51.94, 51.99};

TEST(Ewma, AgreesWithThePublishedSeries) {
  const std::vector<double> z = ewma(kMeasured, 0.3, 50);
  ASSERT_EQ(z.size(), kPublished.size());
  for (std::size_t i = 0; i < z.size(); ++i) EXPECT_NEAR(z[i], kPublished[i], 0.005) << i;
}

TEST(Ewma, ControlLimitsAgreeWithThePublishedOnes) {
  // The same page: s = 2.0539, three standard deviations: 52.5884 and 47.4115.
  const double half_width = 3 * 2.0539 * ewma_asymptotic_sd(0.3);
  EXPECT_NEAR(50 + half_width, 52.5884, 0.0005);
  EXPECT_NEAR(50 - half_width, 47.4115, 0.0005);
}

TEST(Ewma, WithAllWeightOnTheNewestIsTheSeriesItself) {
  EXPECT_EQ(ewma(kMeasured, 1, 0), kMeasured);
}

TEST(Ewma, StaysAtAConstant) {
  for (const double z : ewma(std::vector<double>(100, 7.0), 0.25, 7)) EXPECT_EQ(z, 7.0);
}

}  // namespace
}  // namespace fieldfare::stats
