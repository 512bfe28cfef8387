// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/physics/soil.h"

#include <gtest/gtest.h>

namespace fieldfare::physics {
namespace {

TEST(SoilMoisture, AgreesWithThePolynomialOfToppDavisAndAnnan) {
  // Computed with Python; coefficients seen in public copies.
  EXPECT_NEAR(soil_moisture_topp(5), 0.07979, 5e-6);
  EXPECT_NEAR(soil_moisture_topp(20), 0.34540, 5e-6);
  EXPECT_NEAR(soil_moisture_topp(30), 0.44410, 5e-6);
}

TEST(SoilMoisture, AgreesWithTheInversePolynomialOfTheSamePaper) {
  // K = 3.03 + 9.3 w + 146 w^2 - 76.7 w^3 was fitted to the same points: 13.282 at
  // w = 0.25 (computed); the two fits agree within the paper's 0.013.
  EXPECT_NEAR(soil_moisture_topp(13.282), 0.25, 0.013);
}

}  // namespace
}  // namespace fieldfare::physics
