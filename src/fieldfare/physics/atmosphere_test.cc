// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/physics/atmosphere.h"

#include <gtest/gtest.h>

namespace fieldfare::physics {
namespace {

struct Row {
  double altitude_m;
  double temperature_k;
  double pressure_pa;
};

// ISO 2533:1975, by geopotential altitude. Up to 10 km as seen in public tables;
// the bases of the higher layers from memory of the same table.
const Row kTable[] = {
    {0, 288.15, 101'325},      {1000, 281.65, 89'874.6},   {2000, 275.15, 79'495.2},
    {5000, 255.65, 54'019.9},  {10'000, 223.15, 26'436.3}, {11'000, 216.65, 22'632.0},
    {20'000, 216.65, 5474.87}, {32'000, 228.65, 868.014},  {47'000, 270.65, 110.906},
};

TEST(StandardAtmosphere, AgreesWithTheTable) {
  for (const Row& row : kTable) {
    const Atmosphere air = standard_atmosphere(Metres{row.altitude_m});
    EXPECT_NEAR(air.temperature.value(), row.temperature_k - 273.15, 1e-9) << row.altitude_m;
    EXPECT_NEAR(air.pressure.value() * 100, row.pressure_pa, 1e-5 * row.pressure_pa)
        << row.altitude_m;
  }
}

TEST(StandardAtmosphere, LayersJoinWithoutAStep) {
  for (const double base_m : {0.0, 11e3, 20e3, 32e3, 47e3, 51e3, 71e3}) {
    const Atmosphere below = standard_atmosphere(Metres{base_m - 1e-6});
    const Atmosphere above = standard_atmosphere(Metres{base_m + 1e-6});
    EXPECT_NEAR(below.temperature.value(), above.temperature.value(), 1e-7);
    EXPECT_NEAR(below.pressure.value() / above.pressure.value(), 1, 1e-9);
  }
}

TEST(StandardAtmosphere, PressureFallsAllTheWayUp) {
  double before = standard_atmosphere(Metres{-2000}).pressure.value();
  for (double altitude_m = -1500; altitude_m <= 80'000; altitude_m += 500) {
    const double here = standard_atmosphere(Metres{altitude_m}).pressure.value();
    EXPECT_LT(here, before);
    before = here;
  }
}

}  // namespace
}  // namespace fieldfare::physics
