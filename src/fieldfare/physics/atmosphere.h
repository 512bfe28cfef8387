// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "fieldfare/base/units.h"
#include "fieldfare/physics/range.h"

namespace fieldfare::physics {

struct Atmosphere {
  Hectopascals pressure;
  Celsius temperature;
};

/// Geopotential altitudes that the standard tabulates.
inline constexpr Range kStandardAtmosphereM{-2000, 80'000};

/// Pressure and temperature of the standard atmosphere at a geopotential
/// altitude: seven layers, each with a constant lapse of temperature, in
/// hydrostatic balance. Below -2000 m the lowest layer is carried on.
/// Precondition: -10000 <= altitude <= 80000.
/// Source: ISO 2533:1975 (the same as ICAO Doc 7488 to 80 km).
Atmosphere standard_atmosphere(Metres altitude);

}  // namespace fieldfare::physics
