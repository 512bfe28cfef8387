// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "fieldfare/physics/range.h"

namespace fieldfare::physics {

/// Permittivities that the polynomial was fitted to (from memory).
inline constexpr Range kToppPermittivity{3, 40};

/// Volume of water in a volume of mineral soil from its apparent relative
/// permittivity K: -5.3e-2 + 2.92e-2 K - 5.5e-4 K^2 + 4.3e-6 K^3.
/// Source: G. C. Topp, J. L. Davis & A. P. Annan, Water Resources Research 16
/// (1980) 574-582.
double soil_moisture_topp(double permittivity);

}  // namespace fieldfare::physics
