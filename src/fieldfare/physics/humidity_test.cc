// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/physics/humidity.h"

#include <gtest/gtest.h>

namespace fieldfare::physics {
namespace {

// Values marked "computed" come from Python and the coefficients of WMO-No. 8,
// annex 4.B, which were seen in public copies.

TEST(SaturationOverWater, AgreesWithTheCoefficientsOfWmo8) {
  EXPECT_NEAR(saturation_over_water(Celsius{20}).value(), 23.326, 0.0005);  // computed
  EXPECT_NEAR(saturation_over_water(Celsius{30}).value(), 42.337, 0.0005);  // computed
  EXPECT_EQ(saturation_over_water(Celsius{0}).value(), 6.112);              // exact case
}

TEST(SaturationOverWater, AgreesWithAnotherPublishedFormWithinThreeInAThousand) {
  // FAO Irrigation and Drainage Paper 56 (1998), example 3, from another set of
  // coefficients: 3.075 and 1.705 kPa.
  EXPECT_NEAR(saturation_over_water(Celsius{24.5}).value(), 30.75, 0.003 * 30.75);
  EXPECT_NEAR(saturation_over_water(Celsius{15}).value(), 17.05, 0.003 * 17.05);
}

TEST(SaturationOverIce, AgreesWithTheCoefficientsOfWmo8) {
  EXPECT_NEAR(saturation_over_ice(Celsius{-20}).value(), 1.0326, 0.00005);  // computed
  EXPECT_LT(saturation_over_ice(Celsius{-10}).value(), saturation_over_water(Celsius{-10}).value());
}

TEST(DewPoint, AgreesWithTheInverseOfWmo8) {
  EXPECT_NEAR(dew_point(Celsius{20}, Percent{50}).value(), 9.255, 0.0005);   // computed
  EXPECT_NEAR(dew_point(Celsius{30}, Percent{90}).value(), 28.178, 0.0005);  // computed
}

TEST(DewPoint, OfSaturatedAirIsItsTemperatureAndOtherwiseLower) {
  for (double t = -40; t <= 60; t += 2.5) {
    EXPECT_NEAR(dew_point(Celsius{t}, Percent{100}).value(), t, 1e-12);
    EXPECT_LT(dew_point(Celsius{t}, Percent{99}).value(), t);
  }
}

TEST(DewPoint, ThereTheVapourPressureSaturates) {
  for (double rh = 1; rh < 100; rh += 7) {
    const Celsius dew = dew_point(Celsius{21.3}, Percent{rh});
    EXPECT_NEAR(saturation_over_water(dew).value(),
                saturation_over_water(Celsius{21.3}).value() * rh / 100, 1e-12);
  }
}

TEST(AbsoluteHumidity, AgreesWithTheIdealGas) {
  EXPECT_NEAR(absolute_humidity_g_per_m3(Celsius{20}, Percent{50}), 8.621, 0.0005);  // computed
  EXPECT_EQ(absolute_humidity_g_per_m3(Celsius{20}, Percent{0}), 0);
}

}  // namespace
}  // namespace fieldfare::physics
