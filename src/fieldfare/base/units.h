// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <compare>

namespace fieldfare {

/// A number that knows what it measures. Construction is explicit, so that a
/// bare double never slips into a parameter; value() is the way out.
template <class Unit>
class Quantity {
 public:
  constexpr explicit Quantity(double value) : value_{value} {}
  constexpr double value() const { return value_; }
  constexpr auto operator<=>(const Quantity&) const = default;

 private:
  double value_;
};

using Decibels = Quantity<struct DecibelUnit>;          ///< a ratio: gain, loss, margin
using Dbm = Quantity<struct DbmUnit>;                   ///< a power level re 1 mW
using Volts = Quantity<struct VoltUnit>;                ///< electric potential difference
using Milliamperes = Quantity<struct MilliampereUnit>;  ///< electric current
using Ohms = Quantity<struct OhmUnit>;                  ///< electric resistance
using Celsius = Quantity<struct CelsiusUnit>;           ///< temperature, ITS-90
using Percent = Quantity<struct PercentUnit>;           ///< relative humidity over water
using Hectopascals = Quantity<struct HectopascalUnit>;  ///< pressure
using Metres = Quantity<struct MetreUnit>;              ///< length, height
using PartsPerMillion = Quantity<struct PpmUnit>;       ///< relative frequency error

constexpr Decibels operator+(Decibels a, Decibels b) { return Decibels{a.value() + b.value()}; }
constexpr Decibels operator-(Decibels a, Decibels b) { return Decibels{a.value() - b.value()}; }
constexpr Dbm operator+(Dbm level, Decibels gain) { return Dbm{level.value() + gain.value()}; }
constexpr Dbm operator-(Dbm level, Decibels loss) { return Dbm{level.value() - loss.value()}; }
constexpr Decibels operator-(Dbm a, Dbm b) { return Decibels{a.value() - b.value()}; }

}  // namespace fieldfare
