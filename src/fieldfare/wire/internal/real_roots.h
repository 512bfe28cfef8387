// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

namespace fieldfare::wire {

/// c0 + c1 x + c2 x^2 + ...
double polynomial_value(const std::vector<double>& coefficients, double x);

/// Where c0 + c1 x + c2 x^2 + ... is 0 or changes its sign, from the least up, to
/// the last digits of double. Roots at which it only touches 0 may be missed or be
/// off by rounding, and no root is found of a polynomial that is 0 everywhere.
std::vector<double> real_roots(std::vector<double> coefficients);

}  // namespace fieldfare::wire
