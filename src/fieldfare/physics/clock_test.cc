// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/physics/clock.h"

#include <gtest/gtest.h>

namespace fieldfare::physics {
namespace {

constexpr double kSecondsPerDay = 86'400;

TEST(ClockDrift, IsErrorTimesTime) {
  // Exact cases, by hand.
  EXPECT_NEAR(clock_drift_s(PartsPerMillion{20}, kSecondsPerDay), 1.728, 1e-12);
  EXPECT_NEAR(clock_drift_s(PartsPerMillion{20}, 365.25 * kSecondsPerDay), 631.152, 1e-9);
  EXPECT_NEAR(clock_drift_s(PartsPerMillion{40}, 3600), 0.144, 1e-15);
}

TEST(CrystalOffset, AgreesWithTheUsualParabola) {
  // Common practice, coefficients seen in public copies; arithmetic by Python.
  const Crystal crystal;
  EXPECT_NEAR(crystal_offset(Celsius{-20}, crystal).value(), -68.85, 1e-9);
  EXPECT_NEAR(crystal_offset(Celsius{0}, crystal).value(), -21.25, 1e-9);
  EXPECT_NEAR(crystal_offset(Celsius{50}, crystal).value(), -21.25, 1e-9);
  EXPECT_NEAR(crystal_offset(Celsius{40}, crystal).value(), -7.65, 1e-9);
  EXPECT_EQ(crystal_offset(Celsius{25}, crystal).value(), 0);
}

TEST(CrystalOffset, ADayInTheColdCostsSeconds) {
  const PartsPerMillion error = crystal_offset(Celsius{-20}, Crystal{});
  EXPECT_NEAR(clock_drift_s(error, kSecondsPerDay), -5.949, 0.0005);
}

}  // namespace
}  // namespace fieldfare::physics
