// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <span>

namespace fieldfare::stats {

/// The mean of consecutive reports' phases: how far each came from where a clock
/// of some reference pace would have put it.
struct PhaseBlock {
  double number;                ///< mean report number of the block
  double phase_s;               ///< mean phase of the block, against the reference pace
  double count;                 ///< reports in the block, >= 1
  double span;                  ///< numbers from its first to its last report
  bool starts_segment = false;  ///< its phase has nothing to do with that of the block before
};

/// The pace, relative to the reference pace, in seconds a number.
struct PaceOffset {
  double offset_s;
  double low_s;
  double high_s;
};

/// Estimates the long-run pace of a beat whose phase noise is white (each report
/// jitters about a steady beat) and a random walk (each beat is counted from the
/// last one), in unknown proportion.
///
/// Differences of consecutive block means have the tridiagonal covariance
/// V = s^2 (W + q R), W for the white part and R for the walk. For each of a grid
/// of proportions q the pace is the generalised least squares estimate and s^2
/// the restricted maximum likelihood one; the estimates are averaged with their
/// restricted likelihoods as weights, so the interval carries the uncertainty of
/// q. The prior is uniform in log q, with more weight where the walk is too small
/// to show over the whole span. A plain line fit would be far too sure where
/// the phase wanders.
///
/// Inside a block of c evenly spaced reports spanning L numbers the mean of a
/// random walk has variance smaller by L (c + 1) / (6 c) than the walk at the
/// block's centre (exact for even spacing).
///
/// Blocks are ordered by number within segments. Nothing with fewer than two
/// differences: then no noise can be told from pace. `confidence` in (0, 1).
///
/// Source: Patterson and Thompson, Biometrika 58 (1971) 545-554, for restricted
/// likelihood (from memory); the block covariance is derived above.
std::optional<PaceOffset> pace_offset(std::span<const PhaseBlock> blocks, double confidence);

}  // namespace fieldfare::stats
