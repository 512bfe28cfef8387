// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/physics/resistance_thermometer.h"

#include <cassert>
#include <cmath>

namespace fieldfare::physics {
namespace {

// IEC 60751:2022.
constexpr double kR0 = 100;
constexpr double kA = 3.9083e-3;
constexpr double kB = -5.775e-7;
constexpr double kC = -4.183e-12;

double slope_ohm_per_c(double t) {
  const double below_zero = t < 0 ? kC * t * t * (4 * t - 300) : 0;
  return kR0 * (kA + 2 * kB * t + below_zero);
}

}  // namespace

Ohms pt100_resistance(Celsius temperature) {
  const double t = temperature.value();
  const double below_zero = t < 0 ? kC * (t - 100) * t * t * t : 0;
  return Ohms{kR0 * (1 + kA * t + kB * t * t + below_zero)};
}

Celsius pt100_temperature(Ohms r) {
  assert(r.value() >= 1 && r.value() <= 700);
  // The root of the quadratic is exact above 0 and some degrees off at the cold
  // end, from where Newton's method needs a few steps: the curve is nearly straight.
  const double excess = r.value() / kR0 - 1;
  double t = 2 * excess / (kA + std::sqrt(kA * kA + 4 * kB * excess));
  for (int step = 0; step < 8 && t < 0; ++step) {
    t -= (pt100_resistance(Celsius{t}).value() - r.value()) / slope_ohm_per_c(t);
  }
  return Celsius{t};
}

std::optional<Celsius> thermistor_temperature(Ohms r, const SteinhartHart& coefficients) {
  assert(r.value() > 0);
  const double ln_r = std::log(r.value());
  const double per_kelvin =
      coefficients.a + coefficients.b * ln_r + coefficients.c * ln_r * ln_r * ln_r;
  if (!(per_kelvin > 0)) return std::nullopt;
  return Celsius{1 / per_kelvin - 273.15};
}

}  // namespace fieldfare::physics
