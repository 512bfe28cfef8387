// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/real_roots.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <ranges>

namespace fieldfare::wire {
namespace {

std::vector<double> derivative(const std::vector<double>& coefficients) {
  std::vector<double> slope;
  for (std::size_t power = 1; power < coefficients.size(); ++power) {
    slope.push_back(coefficients[power] * static_cast<double>(power));
  }
  return slope;
}

/// No root lies further out than this (Cauchy's bound, from memory).
double root_bound(const std::vector<double>& coefficients) {
  double largest = 0;
  for (const double c : coefficients) {
    largest = std::max(largest, std::abs(c / coefficients.back()));
  }
  return 1 + largest;
}

/// By halving; `low` and `high` give values of different signs.
double root_between(const std::vector<double>& coefficients, double low, double high) {
  const bool rises = polynomial_value(coefficients, low) < 0;
  for (;;) {
    const double middle = low + (high - low) / 2;
    if (middle <= low || middle >= high) break;
    (polynomial_value(coefficients, middle) < 0) == rises ? low = middle : high = middle;
  }
  return std::abs(polynomial_value(coefficients, low)) <
                 std::abs(polynomial_value(coefficients, high))
             ? low
             : high;
}

}  // namespace

double polynomial_value(const std::vector<double>& coefficients, double x) {
  double sum = 0;
  for (const double c : std::views::reverse(coefficients)) sum = sum * x + c;
  return sum;
}

std::vector<double> real_roots(std::vector<double> coefficients) {
  while (!coefficients.empty() && coefficients.back() == 0) coefficients.pop_back();
  if (coefficients.size() < 2) return {};
  if (coefficients.size() == 2) return {-coefficients[0] / coefficients[1]};
  const double bound = root_bound(coefficients);
  if (!std::isfinite(bound)) return {};

  // Between turning points a polynomial crosses 0 at most once.
  std::vector<double> turns = real_roots(derivative(coefficients));
  std::erase_if(turns, [&](double x) { return !(std::abs(x) < bound); });
  turns.push_back(bound);
  std::vector<double> roots;
  double low = -bound;
  for (const double high : turns) {
    const double at_low = polynomial_value(coefficients, low);
    const double at_high = polynomial_value(coefficients, high);
    if (at_high == 0) {
      roots.push_back(high);
    } else if (at_low != 0 && (at_low < 0) != (at_high < 0)) {
      roots.push_back(root_between(coefficients, low, high));
    }
    low = high;
  }
  return roots;
}

}  // namespace fieldfare::wire
