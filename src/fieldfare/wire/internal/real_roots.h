// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

namespace fieldfare::wire {

/// Where c0 + c1 x + c2 x^2 + ... is 0 or changes its sign, from the least up, to
/// the last digits of double. Roots at which it only touches 0 may be missed or be
/// off by rounding, and no root is found of a polynomial that is 0 everywhere.
std::vector<double> real_roots(const std::vector<double>& coefficients);

}  // namespace fieldfare::wire
