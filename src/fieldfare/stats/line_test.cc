// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/line.h"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "fieldfare/base/random.h"

namespace fieldfare::stats {
namespace {

// NIST Statistical Reference Datasets, linear regression, Norris (36 points),
// data and certified values as quoted in public test copies.
const std::vector<double> kNorrisX = {0.2,   337.4, 118.2, 884.6, 10.1,  226.5, 666.3, 996.3, 448.6,
                                      777.0, 558.2, 0.4,   0.6,   775.5, 666.9, 338.0, 447.5, 11.6,
                                      556.0, 228.1, 995.8, 887.6, 120.2, 0.3,   0.3,   556.8, 339.1,
                                      887.2, 999.0, 779.0, 11.1,  118.3, 229.2, 669.1, 448.9, 0.5};
const std::vector<double> kNorrisY = {0.1,   338.8, 118.1, 888.0, 9.2,   228.1, 668.5, 998.5, 449.1,
                                      778.9, 559.2, 0.3,   0.1,   778.1, 668.8, 339.3, 448.9, 10.8,
                                      557.7, 228.3, 998.0, 888.8, 119.6, 0.3,   0.6,   557.6, 339.3,
                                      888.0, 998.5, 778.9, 10.2,  117.6, 228.9, 668.4, 449.2, 0.2};

void expect_relative(double got, double wanted, double relative) {
  EXPECT_NEAR(got, wanted, relative * std::abs(wanted));
}

TEST(FitLine, AgreesWithTheCertifiedValuesOfNorris) {
  const LineFit fit = fit_line(kNorrisX, kNorrisY);
  expect_relative(fit.intercept, -0.262323073774029, 1e-12);
  expect_relative(fit.slope, 1.00211681802045, 1e-14);
  expect_relative(fit.intercept_sd, 0.232818234301152, 1e-12);
  expect_relative(fit.slope_sd, 0.429796848199937e-3, 1e-12);
  expect_relative(fit.residual_sd, 0.884796396144373, 1e-12);
}

TEST(FitLine, GoesThroughTwoPointsWithoutResidual) {
  const LineFit fit = fit_line(std::vector<double>{1, 3}, std::vector<double>{5, 9});
  EXPECT_EQ(fit.slope, 2);
  EXPECT_EQ(fit.intercept, 3);
  EXPECT_EQ(fit.slope_sd, 0);
}

TEST(FitLine, FindsAnExactLineFarFromTheOrigin) {
  std::vector<double> x, y;
  for (int i = 0; i < 100; ++i) {
    x.push_back(1e9 + i);
    y.push_back(2 * x.back() - 7);
  }
  const LineFit fit = fit_line(x, y);
  EXPECT_NEAR(fit.slope, 2, 1e-14);
  EXPECT_NEAR(fit.intercept, -7, 1e-5);
}

// The example of Sen (1968), as quoted in public copies.
const std::vector<double> kSenX = {1, 2, 3, 4, 10, 12, 18};
const std::vector<double> kSenY = {9, 15, 19, 20, 45, 55, 78};

TEST(TheilSen, AgreesWithSensExample) {
  const Line line = theil_sen(kSenX, kSenY);
  EXPECT_NEAR(line.slope, 4, 1e-12);
  EXPECT_NEAR(fit_line(kSenX, kSenY).slope, 4.0214, 5e-5);
  // By hand: y - 4x is 5 7 7 4 5 7 6.
  EXPECT_NEAR(line.intercept, 6, 1e-12);
}

TEST(TheilSen, IgnoresPairsAtTheSamePlace) {
  const std::vector<double> x = {1, 1, 2, 2}, y = {0, 100, 3, 103};
  EXPECT_EQ(theil_sen(x, y).slope, 3);
}

TEST(TheilSen, AWildPointDoesNotCarryItOff) {
  std::vector<double> x, y;
  for (int i = 0; i < 50; ++i) {
    x.push_back(i);
    y.push_back(1 + 0.5 * i);
  }
  y[10] = 1e6;
  EXPECT_NEAR(theil_sen(x, y).slope, 0.5, 1e-12);
  EXPECT_NEAR(theil_sen(x, y).intercept, 1, 1e-12);
}

}  // namespace
}  // namespace fieldfare::stats
