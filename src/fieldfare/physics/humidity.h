// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "fieldfare/base/units.h"
#include "fieldfare/physics/range.h"

namespace fieldfare::physics {

inline constexpr Range kSaturationOverWaterC{-45, 60};
inline constexpr Range kSaturationOverIceC{-65, 0};

/// Pressure of water vapour in equilibrium with a plane surface of water,
///
///     e_w = 6.112 exp(17.62 t / (243.12 + t))   [hPa, t in degrees Celsius].
///
/// Within 0.3 % of the reference formula over kSaturationOverWaterC (from
/// memory). Precondition: t > -243.12.
/// Source: WMO-No. 8, volume I, chapter 4, annex 4.B.
Hectopascals saturation_over_water(Celsius t);

/// The same over ice: e_i = 6.112 exp(22.46 t / (272.62 + t)), over
/// kSaturationOverIceC. Precondition: t > -272.62. Source: as above.
Hectopascals saturation_over_ice(Celsius t);

/// The temperature at which air of `t` and relative humidity `rh` (over water)
/// would be saturated over water. Preconditions: 0 < rh, t > -243.12.
/// Source: the inverse of saturation_over_water(), as above.
Celsius dew_point(Celsius t, Percent rh);

/// Water vapour in a cubic metre of air, in grams: 216.7 e / (t + 273.15), e in hPa.
/// Preconditions: rh >= 0, t > -243.12.
/// Source: ideal gas law for water vapour; constant from memory (100000 over
/// the specific gas constant 461.5 J/(kg K)).
double absolute_humidity_g_per_m3(Celsius t, Percent rh);

}  // namespace fieldfare::physics
