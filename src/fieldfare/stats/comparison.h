// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <span>

namespace fieldfare::stats {

/// A value with its expanded uncertainty (coverage factor 2).
struct Uncertain {
  double value;
  double expanded_uncertainty;
};

/// En number: how far a value lies from a reference in units of their combined
/// expanded uncertainty, (x - ref) / sqrt(u_x^2 + u_ref^2). Within -1 and 1 the
/// two agree. Precondition: not both uncertainties zero.
/// Source: ISO 13528 and ISO/IEC 17043 (formula from memory).
double en_number(const Uncertain& x, const Uncertain& reference);

struct RunsTest {
  std::size_t runs;
  double expected;
  double variance;
  double z;  ///< below about -2 alike values cling together, above 2 they alternate
};

/// Wald-Wolfowitz runs test for `above` values of one kind and `below` of the
/// other in `runs` runs. Preconditions: both kinds occur, at least 3 values.
/// Source: A. Wald & J. Wolfowitz, Ann. Math. Stat. 11 (1940) 147-162; NIST/
/// SEMATECH e-Handbook 1.3.5.13.
RunsTest runs_test(std::size_t above, std::size_t below, std::size_t runs);

/// Runs above and below the median; values equal to it are left out.
/// Precondition: values on both sides, at least 3 of them.
RunsTest runs_about_median(std::span<const double> x);

}  // namespace fieldfare::stats
