// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>

#include "fieldfare/base/units.h"
#include "fieldfare/physics/range.h"

namespace fieldfare::physics {

inline constexpr Range kPt100C{-200, 850};

/// Resistance of a platinum resistance thermometer of 100 ohm at 0 degrees:
///
///     R = 100 (1 + A t + B t^2 + C (t - 100) t^3),   C only below 0.
///
/// Source: IEC 60751:2022.
Ohms pt100_resistance(Celsius t);

/// The temperature at which a Pt100 has the given resistance; the inverse of
/// pt100_resistance() to 1e-9 degrees. Precondition: 1 <= r <= 700 ohm.
Celsius pt100_temperature(Ohms r);

/// Coefficients of 1/T = a + b ln R + c (ln R)^3, T in kelvin, R in ohm.
struct SteinhartHart {
  double a;
  double b;
  double c;
};

/// Temperature of a thermistor. Nothing where the coefficients give none, that
/// is, where the right-hand side isn't positive. Precondition: r > 0.
/// Source: J. S. Steinhart & S. R. Hart, Deep-Sea Research 15 (1968) 497-503.
std::optional<Celsius> thermistor_temperature(Ohms r, const SteinhartHart& coefficients);

}  // namespace fieldfare::physics
