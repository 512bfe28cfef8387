// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "fieldfare/base/units.h"

namespace fieldfare::physics {

/// How far a clock goes wrong: error times elapsed time, in seconds.
double clock_drift_s(PartsPerMillion error, double elapsed_s);

/// A tuning-fork crystal: fastest at its turnover temperature, slower by
/// beta (t - turnover)^2 away from it.
struct Crystal {
  Celsius turnover{25};
  double beta_ppm_per_c2 = -0.034;
};

/// Frequency error at a temperature against that at turnover.
/// Source: common practice (-0.034 ppm per square degree about 25 degrees);
/// a part's own tolerance adds to it.
PartsPerMillion crystal_offset(Celsius t, const Crystal& crystal);

}  // namespace fieldfare::physics
