// SPDX-License-Identifier: Apache-2.0
#pragma once

namespace fieldfare::stats {

/// A tabular CUSUM of independent standard normal values:
/// S_n = max(0, S_{n-1} + x_n - k), started at 0, which speaks when S_n > h.
/// `k` (the reference value) and `h` (the decision interval) are in standard
/// deviations.
struct CusumDesign {
  double k;
  double h;
};

/// The largest decision interval that is computed; the work grows as h^3.
inline constexpr double kLargestCusumInterval = 50;

/// The mean number of values until the one-sided CUSUM speaks where their mean
/// is off by `shift` standard deviations.
///
/// Solves L(s) = 1 + L(0) P(0|s) + integral over (0, h) of L(y) p(y|s) dy on
/// Gauss-Legendre nodes, with the atom at zero as a state of its own. Solved
/// without any subtraction, so that even lengths of 1e18 come out to better than
/// 1e-10 relative (checked). Where the length exceeds the range of double it is
/// infinite.
///
/// Preconditions: k >= 0, 0 < h <= kLargestCusumInterval, shift finite.
/// Source: E. S. Page, Biometrika 41 (1954) 100-115, for the equation; W. K.
/// Grassmann, M. I. Taksar & D. P. Heyman, Operations Research 33 (1985), for
/// the elimination.
double cusum_arl_one_sided(const CusumDesign& design, double shift);

/// As cusum_arl_one_sided() for a pair of CUSUMs that watch both directions:
/// 1/L = 1/L(shift) + 1/L(-shift).
/// Source: K. W. Kemp, J. R. Stat. Soc. B 23 (1961) 149-153, from memory.
double cusum_arl_two_sided(const CusumDesign& design, double shift);

}  // namespace fieldfare::stats
