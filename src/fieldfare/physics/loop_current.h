// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string_view>

#include "fieldfare/base/units.h"

namespace fieldfare::physics {

/// What a 4-20 mA current says beside the value it carries.
enum class LoopState : std::uint8_t {
  ok,              ///< 3.8 to 20.5 mA: a measurement
  saturated_low,   ///< between 3.6 and 3.8 mA: below what can be measured
  saturated_high,  ///< between 20.5 and 21 mA: above what can be measured
  failed_low,      ///< 3.6 mA or less: the transmitter says it has failed, or the wire is broken
  failed_high,     ///< 21 mA or more: the transmitter says it has failed
};

/// Source: NAMUR NE 43 levels, as quoted in public copies (some put the upper
/// failure level at, others above 21.0 mA; we take 'at').
LoopState loop_state(Milliamperes current);

/// `ok`, `saturated_low` and so on.
std::string_view loop_state_word(LoopState state);

/// The part of the span that a current stands for: 0 at 4 mA, 1 at 20 mA.
double loop_fraction(Milliamperes current);

}  // namespace fieldfare::physics
