// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/physics/loop_current.h"

namespace fieldfare::wire {

/// What became of a raw number.
struct Converted {
  /// Nothing: no measurement (a loop outside 3.8 to 20.5 mA, impossible resistance).
  std::optional<double> value;
  std::optional<physics::LoopState> loop;  ///< of 4-20 mA loops
  double scaled = 0;                       ///< after scale and offset: ohm, mA
};

/// Scale and offset. Where both are fractions with one small denominator, as
/// 0.01 and -273.15 are, the arithmetic is done in whole numbers and divided once:
/// whole raw numbers then give the double nearest to the decimal number that was
/// meant. 2140 times 0.01 is 21.400000000000002 in double, 2140 / 100 is 21.4.
class Linear {
 public:
  Linear() = default;
  Linear(double scale, double offset);

  double operator()(double raw) const { return (raw * factor_ + addend_) / divisor_; }
  /// The number that gives `value`; a whole one where that is exact.
  double inverse(double value) const;
  bool is_identity() const { return factor_ == 1 && addend_ == 0 && divisor_ == 1; }

 private:
  bool take_denominator(double divisor, double scale, double offset);

  double factor_ = 1;
  double addend_ = 0;
  double divisor_ = 1;
};

/// A conversion made ready for many numbers. The facts must outlive it.
class Converter {
 public:
  explicit Converter(const fleet::Conversion& facts)
      : facts_{&facts}, linear_{facts.scale, facts.offset} {}

  /// True where scale and offset are all there is.
  bool is_linear() const { return std::holds_alternative<std::monostate>(facts_->then); }
  const Linear& linear() const { return linear_; }
  Converted convert(double raw) const;
  std::optional<double> unconvert(double reading) const;

 private:
  const fleet::Conversion* facts_;
  Linear linear_;
};

/// From the number sent to the reading.
Converted convert(const fleet::Conversion& conversion, double raw);

/// The inverse: the number to send for a reading. Nothing where there is none;
/// polynomials and thermistors are inverted numerically to 1e-9 of the reading. Of
/// several numbers it is the least that is not negative, else the one nearest to 0.
std::optional<double> unconvert(const fleet::Conversion& conversion, double reading);

}  // namespace fieldfare::wire
