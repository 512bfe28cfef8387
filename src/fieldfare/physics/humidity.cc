// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/physics/humidity.h"

#include <cassert>
#include <cmath>

namespace fieldfare::physics {
namespace {

// WMO-No. 8, annex 4.B.
constexpr double kAtZeroHpa = 6.112;
constexpr double kWaterFactor = 17.62;
constexpr double kWaterOffsetC = 243.12;
constexpr double kIceFactor = 22.46;
constexpr double kIceOffsetC = 272.62;

double vapour_pressure_hpa(Celsius t, Percent rh) {
  return saturation_over_water(t).value() * rh.value() / 100;
}

}  // namespace

Hectopascals saturation_over_water(Celsius t) {
  assert(t.value() > -kWaterOffsetC);
  return Hectopascals{kAtZeroHpa *
                      std::exp(kWaterFactor * t.value() / (kWaterOffsetC + t.value()))};
}

Hectopascals saturation_over_ice(Celsius t) {
  assert(t.value() > -kIceOffsetC);
  return Hectopascals{kAtZeroHpa * std::exp(kIceFactor * t.value() / (kIceOffsetC + t.value()))};
}

Celsius dew_point(Celsius t, Percent rh) {
  assert(rh.value() > 0);
  // The logarithm of the vapour pressure is put together from its parts, so that
  // saturated air has its own temperature as dew point to the last digit but one.
  const double ln_ratio =
      kWaterFactor * t.value() / (kWaterOffsetC + t.value()) + std::log(rh.value() / 100);
  return Celsius{kWaterOffsetC * ln_ratio / (kWaterFactor - ln_ratio)};
}

double absolute_humidity_g_per_m3(Celsius t, Percent rh) {
  assert(rh.value() >= 0);
  return 216.7 * vapour_pressure_hpa(t, rh) / (t.value() + 273.15);
}

}  // namespace fieldfare::physics
