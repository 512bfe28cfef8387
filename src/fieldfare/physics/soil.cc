// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/physics/soil.h"

namespace fieldfare::physics {

double soil_moisture_topp(double permittivity) {
  return -5.3e-2 + permittivity * (2.92e-2 + permittivity * (-5.5e-4 + permittivity * 4.3e-6));
}

}  // namespace fieldfare::physics
