// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>

namespace fieldfare::stats {

/// Transitions counted along a two-state chain of heard (good) and missed (bad)
/// reports: losses come in bursts, and the chain is the simplest model that
/// says so (Gilbert, Bell System Technical Journal 39, 1960, 1253-1265).
struct ChainCounts {
  std::uint64_t good_good = 0;
  std::uint64_t good_bad = 0;
  std::uint64_t bad_good = 0;
  std::uint64_t bad_bad = 0;
};

struct ShareInterval {
  double low;
  double high;
};

/// Equal-tailed interval for the long-run share of good states, r / (p + r), of a
/// chain with the transition rates p (good to bad) and r (bad to good).
///
/// The rates have independent beta posteriors from the Jeffreys prior
/// Beta(1/2, 1/2); only where no loss run was seen has r the uniform one. There
/// Jeffreys', which holds runs of hundreds for likely, would make 83 % the lower
/// bound for 1000 of 1000 heard, instead of 98 %; elsewhere the uniform prior
/// covers too little where few long runs are seen (87 % to 91 % of 1,000 generated
/// logs with a mean run of 8). The share's quantiles are taken over a product grid
/// of kNodes midpoint quantiles of each. Where nothing was lost the upper bound is
/// exactly 1.
///
/// `confidence` in (0, 1). Accuracy of a bound: about 2 % of the interval's
/// width, from the grid.
ShareInterval good_share_interval(const ChainCounts& counts, double confidence);

/// The log likelihood ratio between two good-to-bad rates, and Wald's limits.
///
/// A verdict on delivery tests the rate at which loss runs begin, because
/// whole runs, unlike lost reports, come independently of one another.
struct ChainTest {
  double log_ratio;    ///< of the bad hypothesis to the good one
  double accept_bad;   ///< at or above: the chain is as bad as that, log((1 - beta) / alpha)
  double accept_good;  ///< at or below: as good as that, log(beta / (1 - alpha))
  /// Mean further good states until a limit is reached (Wald's approximation),
  /// under the hypothesis that the counts speak for so far.
  double needed_good_states;
};

/// What is put to the test.
struct ChainHypotheses {
  double good_share;     ///< wanted long-run share of good states, in (0, 1)
  double bad_share;      ///< unacceptable share, below good_share
  double mean_loss_run;  ///< taken to be the same under both, >= 1
  double alpha;          ///< chance to fail a good chain
  double beta;           ///< chance to pass a bad one
};

/// Source: Wald, Sequential Analysis (1947), for the limits and the mean sample
/// number (from memory). Tested at any moment instead of at first crossing, the
/// risks hold at that moment (Markov's inequality).
ChainTest test_chain(const ChainCounts& counts, const ChainHypotheses& hypotheses);

}  // namespace fieldfare::stats
