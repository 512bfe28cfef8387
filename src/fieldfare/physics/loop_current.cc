// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/physics/loop_current.h"

namespace fieldfare::physics {

LoopState loop_state(Milliamperes current) {
  if (current <= Milliamperes{3.6}) return LoopState::failed_low;
  if (current < Milliamperes{3.8}) return LoopState::saturated_low;
  if (current <= Milliamperes{20.5}) return LoopState::ok;
  if (current < Milliamperes{21.0}) return LoopState::saturated_high;
  return LoopState::failed_high;
}

std::string_view loop_state_word(LoopState state) {
  switch (state) {
    case LoopState::ok:
      return "ok";
    case LoopState::saturated_low:
      return "saturated_low";
    case LoopState::saturated_high:
      return "saturated_high";
    case LoopState::failed_low:
      return "failed_low";
    case LoopState::failed_high:
      return "failed_high";
  }
  return {};
}

double loop_fraction(Milliamperes current) { return (current.value() - 4) / 16; }

}  // namespace fieldfare::physics
