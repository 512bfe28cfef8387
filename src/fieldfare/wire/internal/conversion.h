// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/physics/loop_current.h"

namespace fieldfare::wire {

/// What became of a raw number.
struct Converted {
  std::optional<double> value;  ///< nothing: no measurement (failed loop, impossible resistance)
  std::optional<physics::LoopState> loop;  ///< of 4-20 mA loops
  double scaled = 0;                       ///< after scale and offset: ohm, mA
};

/// From the number sent to the reading.
Converted convert(const fleet::Conversion& conversion, double raw);

/// The inverse: the number to send for a reading. Nothing where there is none;
/// polynomials and thermistors are inverted numerically to 1e-9 of the reading.
std::optional<double> unconvert(const fleet::Conversion& conversion, double reading);

}  // namespace fieldfare::wire
