// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/number_text.h"
#include "fieldfare/calc/internal/definition.h"
#include "fieldfare/physics/loop_current.h"
#include "fieldfare/physics/resistance_thermometer.h"

namespace fieldfare::calc {
namespace {

Outcome pt100(const Inputs& in) {
  if (in.given("t_c") == in.given("r_ohm")) {
    return Failure<std::string>{"pt100 needs either `t_c` or `r_ohm`, and only one of them"};
  }
  const Celsius t = in.given("t_c") ? Celsius{in.number("t_c")}
                                    : physics::pt100_temperature(Ohms{in.number("r_ohm")});
  const Ohms r = in.given("r_ohm") ? Ohms{in.number("r_ohm")} : physics::pt100_resistance(t);
  Worked out{{{"r_ohm", r.value()}, {"t_c", t.value()}}};
  if (!physics::kPt100C.holds(t.value())) {
    out.notes.emplace_back("outside the standard's range of -200 to 850 degrees");
  }
  return out;
}

Outcome thermistor(const Inputs& in) {
  const auto t = physics::thermistor_temperature(Ohms{in.number("r_ohm")},
                                                 {in.number("a"), in.number("b"), in.number("c")});
  if (!t) {
    return Failure<std::string>{
        "`a`, `b` and `c` give no temperature at this `r_ohm`: a + b ln R + c (ln R)^3 must be "
        "above 0"};
  }
  return Worked{{{"t_c", t->value()}},
                {"good only between the temperatures that a, b and c were fitted to"}};
}

Outcome loop_current(const Inputs& in) {
  const Milliamperes current{in.number("ma")};
  const double low = in.number("low"), high = in.number("high");
  if (low == high) return Failure<std::string>{"`low` and `high` must differ"};
  const physics::LoopState state = physics::loop_state(current);
  const bool failed =
      state == physics::LoopState::failed_low || state == physics::LoopState::failed_high;
  const Value value =
      failed ? Value{} : Value{low + physics::loop_fraction(current) * (high - low)};
  Worked out{{{"value", value}, {"state", std::string{physics::loop_state_word(state)}}}};
  if (failed) {
    out.notes.emplace_back("a current of 3.6 mA or less, or 21 mA or more, carries no measurement");
  } else if (state != physics::LoopState::ok) {
    out.notes.emplace_back("below 3.8 or above 20.5 mA the measurement is at its stop");
  }
  return out;
}

/// What a Pt100 can be asked for: the polynomial has no resistance left below
/// -240 degrees, and platinum melts above 1700.
std::vector<Key> pt100_keys() {
  Key t = number("t_c", from_to(-235, 1700), "temperature in degrees Celsius");
  Key r = number("r_ohm", from_to(3.2, 597), "resistance in ohm");
  t.may_lack = r.may_lack = true;
  return {std::move(t), std::move(r)};
}

}  // namespace

std::vector<Definition> sensor_calculators() {
  const Bounds coefficient = from_to(-1, 1);
  return {
      {{.name = "pt100",
        .summary = "platinum resistance thermometer, both ways",
        .keys = pt100_keys(),
        .source = "IEC 60751:2022",
        .example = "t_c=100"},
       pt100},
      {{.name = "thermistor",
        .summary = "temperature of a thermistor",
        .keys = {number("r_ohm", above_to(0, 1e9), "resistance in ohm"),
                 number("a", coefficient, "first coefficient, 1/K"),
                 number("b", coefficient, "second coefficient, 1/K"),
                 number("c", coefficient, "third coefficient, 1/K")},
        .source = "J. S. Steinhart & S. R. Hart, Deep-Sea Research 15 (1968) 497-503",
        .example = "r_ohm=10000 a=1.129148e-3 b=2.34125e-4 c=8.76741e-8"},
       thermistor},
      {{.name = "loop-current",
        .summary = "value and state of a 4-20 mA loop",
        .keys = {number("ma", from_to(0, 100), "current in milliamperes"),
                 number("low", {}, "value at 4 mA"), number("high", {}, "value at 20 mA")},
        .source = "linear scaling; states by NAMUR NE 43",
        .example = "ma=12 low=-20 high=60"},
       loop_current},
  };
}

}  // namespace fieldfare::calc
