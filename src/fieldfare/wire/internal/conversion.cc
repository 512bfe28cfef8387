// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/conversion.h"

#include <array>
#include <cmath>

#include "fieldfare/physics/resistance_thermometer.h"
#include "fieldfare/wire/internal/real_roots.h"

namespace fieldfare::wire {
namespace {

// So that products with 16-bit numbers stay exact in double.
constexpr double kLargestFactor = 1e11;
constexpr double kLargestWhole = 9'007'199'254'740'992;  // 2^53

std::optional<double> pt100_c(double ohm) {
  constexpr physics::Range kTakenOhm{1, 700};  // by pt100_temperature()
  if (!kTakenOhm.holds(ohm)) return std::nullopt;
  const double t = physics::pt100_temperature(Ohms{ohm}).value();
  if (!physics::kPt100C.holds(t)) return std::nullopt;
  return t;
}

std::optional<double> thermistor_c(double ohm, const fleet::ThermistorSensor& sensor) {
  if (!(ohm > 0)) return std::nullopt;
  const auto t = physics::thermistor_temperature(Ohms{ohm}, {sensor.a, sensor.b, sensor.c});
  if (!t) return std::nullopt;
  return t->value();
}

Converted through(const std::monostate&, double scaled) { return {scaled, std::nullopt, scaled}; }
Converted through(const fleet::Pt100Sensor&, double ohm) {
  return {pt100_c(ohm), std::nullopt, ohm};
}
Converted through(const fleet::ThermistorSensor& sensor, double ohm) {
  return {thermistor_c(ohm, sensor), std::nullopt, ohm};
}
Converted through(const fleet::LoopSensor& sensor, double ma) {
  const Milliamperes current{ma};
  Converted converted{std::nullopt, physics::loop_state(current), ma};
  if (converted.loop == physics::LoopState::ok) {
    converted.value = sensor.low + physics::loop_fraction(current) * (sensor.high - sensor.low);
  }
  return converted;
}
Converted through(const fleet::Polynomial& polynomial, double scaled) {
  return {polynomial_value(polynomial.coefficients, scaled), std::nullopt, scaled};
}

/// The least root that is not negative, else the one nearest to 0.
std::optional<double> chosen_root(const std::vector<double>& coefficients) {
  std::optional<double> chosen;
  for (const double root : real_roots(coefficients)) {
    if (root >= 0) return !chosen || *chosen < 0 ? root : *chosen;
    chosen = root;
  }
  return chosen;
}

std::optional<double> back_through(const std::monostate&, double reading) { return reading; }
std::optional<double> back_through(const fleet::Pt100Sensor&, double t) {
  if (!physics::kPt100C.holds(t)) return std::nullopt;
  return physics::pt100_resistance(Celsius{t}).value();
}
std::optional<double> back_through(const fleet::ThermistorSensor& sensor, double t) {
  constexpr double kZeroCelsiusK = 273.15;
  if (!(t > -kZeroCelsiusK)) return std::nullopt;
  const auto ln_r = chosen_root({sensor.a - 1 / (t + kZeroCelsiusK), sensor.b, 0, sensor.c});
  if (!ln_r) return std::nullopt;
  return std::exp(*ln_r);
}
std::optional<double> back_through(const fleet::LoopSensor& sensor, double reading) {
  const double ma = 4 + 16 * ((reading - sensor.low) / (sensor.high - sensor.low));
  // The measuring range of NE 43, and what rounding may add to its ends.
  constexpr physics::Range kMeasuringMa{3.8 - 1e-9, 20.5 + 1e-9};
  if (!kMeasuringMa.holds(ma)) return std::nullopt;
  return ma;
}
std::optional<double> back_through(const fleet::Polynomial& polynomial, double reading) {
  std::vector<double> coefficients = polynomial.coefficients;
  coefficients.front() -= reading;
  return chosen_root(coefficients);
}

}  // namespace

Linear::Linear(double scale, double offset) {
  if (take_denominator(1, scale, offset)) return;
  const double inverse = std::round(std::abs(1 / scale));
  if (take_denominator(inverse, scale, offset)) return;
  for (double power = 10; power <= 1e9; power *= 10) {
    if (take_denominator(power, scale, offset)) return;
    if (take_denominator(inverse * power, scale, offset)) return;
  }
  factor_ = scale;
  addend_ = offset;
}

/// True where both numbers are the doubles nearest to a fraction over `divisor`.
bool Linear::take_denominator(double divisor, double scale, double offset) {
  constexpr physics::Range kDivisors{1, kLargestWhole};
  if (!kDivisors.holds(divisor)) return false;
  const double factor = std::round(scale * divisor);
  const double addend = std::round(offset * divisor);
  if (std::abs(factor) > kLargestFactor || std::abs(addend) > kLargestWhole) return false;
  if (factor == 0 || factor / divisor != scale || addend / divisor != offset) return false;
  factor_ = factor;
  addend_ = addend;
  divisor_ = divisor;
  return true;
}

double Linear::inverse(double value) const {
  const double raw = (value * divisor_ - addend_) / factor_;
  const double whole = std::round(raw);
  return (*this)(whole) == value ? whole : raw;
}

Converted Converter::convert(double raw) const {
  const double scaled = linear_(raw);
  Converted converted =
      std::visit([&](const auto& then) { return through(then, scaled); }, facts_->then);
  if (converted.value && !std::isfinite(*converted.value)) converted.value.reset();
  return converted;
}

std::optional<double> Converter::unconvert(double reading) const {
  const auto scaled =
      std::visit([&](const auto& then) { return back_through(then, reading); }, facts_->then);
  if (!scaled) return std::nullopt;
  const double raw = linear_.inverse(*scaled);
  if (!std::isfinite(raw)) return std::nullopt;
  return raw;
}

Converted convert(const fleet::Conversion& conversion, double raw) {
  return Converter{conversion}.convert(raw);
}

std::optional<double> unconvert(const fleet::Conversion& conversion, double reading) {
  return Converter{conversion}.unconvert(reading);
}

}  // namespace fieldfare::wire
