// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/physics/clock.h"

namespace fieldfare::physics {

double clock_drift_s(PartsPerMillion error, double elapsed_s) {
  return error.value() * elapsed_s / 1e6;
}

PartsPerMillion crystal_offset(Celsius t, const Crystal& crystal) {
  const double away = t.value() - crystal.turnover.value();
  return PartsPerMillion{crystal.beta_ppm_per_c2 * away * away};
}

}  // namespace fieldfare::physics
