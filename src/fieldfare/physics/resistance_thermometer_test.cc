// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/physics/resistance_thermometer.h"

#include <gtest/gtest.h>

namespace fieldfare::physics {
namespace {

struct Row {
  const char* source;
  double t_c;
  double r_ohm;
  double tolerance_ohm;
};

const Row kPt100[] = {
    {"IEC 60751, as seen in public tables", 100, 138.5055, 0.00005},
    {"IEC 60751, as seen in public tables", -100, 60.2558, 0.00005},
    {"IEC 60751, as seen in a public table", 200, 175.86, 0.005},
    {"computed with Python from the standard's coefficients", -200, 18.52, 0.005},
    {"computed with Python from the standard's coefficients", 850, 390.48, 0.005},
    {"computed with Python from the standard's coefficients", -50, 80.306, 0.0005},
    {"computed with Python from the standard's coefficients", 25, 109.735, 0.0005},
    {"computed with Python from the standard's coefficients", 50, 119.397, 0.0005},
    {"by definition", 0, 100, 0},
};

TEST(Pt100, ResistanceAgreesWithTheStandard) {
  for (const Row& row : kPt100) {
    EXPECT_NEAR(pt100_resistance(Celsius{row.t_c}).value(), row.r_ohm, row.tolerance_ohm)
        << row.source << ", " << row.t_c;
  }
}

TEST(Pt100, TemperatureIsTheInverseOverTheWholeRange) {
  for (double t_c = -235; t_c <= 1000; t_c += 0.7) {
    const Ohms r = pt100_resistance(Celsius{t_c});
    EXPECT_NEAR(pt100_temperature(r).value(), t_c, 1e-9);
  }
  EXPECT_EQ(pt100_temperature(Ohms{100}).value(), 0);
}

constexpr SteinhartHart kTenKiloohm{1.129148e-3, 2.34125e-4, 8.76741e-8};

TEST(Thermistor, AgreesWithSteinhartAndHart) {
  // Computed with Python from the formula (from memory) and coefficients in
  // common use for a 10 kiloohm part.
  EXPECT_NEAR(thermistor_temperature(Ohms{10'000}, kTenKiloohm)->value(), 24.9997, 0.00005);
  EXPECT_NEAR(thermistor_temperature(Ohms{5'000}, kTenKiloohm)->value(), 41.572, 0.0005);
}

TEST(Thermistor, WithoutLogarithmicTermsIsAConstant) {
  EXPECT_NEAR(thermistor_temperature(Ohms{123}, {1 / 300.0, 0, 0})->value(), 26.85, 1e-9);
}

TEST(Thermistor, CoefficientsThatGiveNoTemperatureGiveNothing) {
  EXPECT_FALSE(thermistor_temperature(Ohms{10'000}, {0, 0, 0}));
  EXPECT_FALSE(thermistor_temperature(Ohms{10'000}, {-1, 0, 0}));
}

}  // namespace
}  // namespace fieldfare::physics
