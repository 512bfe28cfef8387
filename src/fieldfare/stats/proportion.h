// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>

namespace fieldfare::stats {

struct Interval {
  double low;
  double high;
};

/// The quantiles of the beta distribution were tried up to this many trials.
inline constexpr std::uint64_t kMostTrials = 1'000'000'000;

/// Score interval for the probability behind `k` successes in `n` independent
/// trials:
///
///     (p + z^2/2n -+ z sqrt(p(1-p)/n + z^2/4n^2)) / (1 + z^2/n),   p = k/n.
///
/// Exactly 0 below for k = 0 and exactly 1 above for k = n. It covers about
/// `confidence` on average over p, for some p a few per cent less. Trials that
/// depend on each other (losses in bursts) make it too narrow.
///
/// Preconditions: n > 0, k <= n, 0 < confidence < 1.
/// Source: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212; method 3 of
/// R. G. Newcombe, Statistics in Medicine 17 (1998) 857-872.
Interval wilson(std::uint64_t k, std::uint64_t n, double confidence);

/// As wilson(), by the quantiles of the beta distribution, so that the coverage
/// is never below `confidence`, and mostly above. Precondition: also n <= kMostTrials.
/// Source: C. J. Clopper & E. S. Pearson, Biometrika 26 (1934) 404-413.
Interval clopper_pearson(std::uint64_t k, std::uint64_t n, double confidence);

}  // namespace fieldfare::stats
