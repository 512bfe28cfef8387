// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/gilbert.h"

#include <algorithm>
#include <array>
#include <boost/math/distributions/beta.hpp>
#include <cassert>
#include <cmath>
#include <vector>

namespace fieldfare::stats {
namespace {

constexpr std::size_t kNodes = 64;
constexpr double kJeffreys = 0.5;
constexpr double kUniform = 1;

/// Transitions with a rate in common, and as many imagined ones of each kind as its
/// prior is worth.
struct Transitions {
  std::uint64_t taken;
  std::uint64_t not_taken;
  double prior;
};

/// Logarithms of midpoint quantiles of the posterior of a transition rate.
std::array<double, kNodes> log_rate_quantiles(const Transitions& transitions) {
  // Seven digits are plenty for a grid, and cost half the time.
  using Policy = boost::math::policies::policy<boost::math::policies::digits10<7>,
                                               boost::math::policies::promote_double<false>>;
  const boost::math::beta_distribution<double, Policy> posterior(
      static_cast<double>(transitions.taken) + transitions.prior,
      static_cast<double>(transitions.not_taken) + transitions.prior);
  std::array<double, kNodes> result{};
  for (std::size_t i = 0; i < kNodes; ++i) {
    const double share = (static_cast<double>(i) + 0.5) / kNodes;
    result[i] = std::log(boost::math::quantile(posterior, share));
  }
  return result;
}

double share_of_log_odds(double log_odds) { return 1 / (1 + std::exp(-log_odds)); }

}  // namespace

ShareInterval good_share_interval(const ChainCounts& counts, double confidence) {
  assert(confidence > 0 && confidence < 1);
  const auto to_bad = log_rate_quantiles({counts.good_bad, counts.good_good, kJeffreys});
  const auto to_good = log_rate_quantiles(
      {counts.bad_good, counts.bad_bad, counts.bad_good == 0 ? kUniform : kJeffreys});
  std::vector<double> log_odds;
  log_odds.reserve(kNodes * kNodes);
  for (const double p : to_bad) {
    for (const double r : to_good) log_odds.push_back(r - p);
  }
  const auto quantile = [&](double share) {
    const auto index = static_cast<std::size_t>(share * static_cast<double>(log_odds.size()));
    const auto at =
        log_odds.begin() + static_cast<std::ptrdiff_t>(std::min(index, log_odds.size() - 1));
    std::nth_element(log_odds.begin(), at, log_odds.end());
    return share_of_log_odds(*at);
  };
  const double tail = (1 - confidence) / 2;
  const bool nothing_lost = counts.good_bad == 0 && counts.bad_bad == 0;
  return {.low = quantile(tail), .high = nothing_lost ? 1.0 : quantile(1 - tail)};
}

ChainTest test_chain(const ChainCounts& counts, const ChainHypotheses& hypotheses) {
  assert(hypotheses.bad_share < hypotheses.good_share);
  assert(hypotheses.mean_loss_run >= 1);
  // The rate at which loss runs begin follows from share and run length:
  // share = r / (p + r) with r = 1 / run.
  const auto begin_rate = [&](double share) {
    return std::min(0.999, (1 - share) / share / hypotheses.mean_loss_run);
  };
  const double good = begin_rate(hypotheses.good_share);
  const double bad = begin_rate(hypotheses.bad_share);
  const double on_loss = std::log(bad / good);
  const double on_good = std::log((1 - bad) / (1 - good));
  const double log_ratio = static_cast<double>(counts.good_bad) * on_loss +
                           static_cast<double>(counts.good_good) * on_good;
  ChainTest test{.log_ratio = log_ratio,
                 .accept_bad = std::log((1 - hypotheses.beta) / hypotheses.alpha),
                 .accept_good = std::log(hypotheses.beta / (1 - hypotheses.alpha)),
                 .needed_good_states = 0};
  if (log_ratio > 0) {
    const double drift = bad * on_loss + (1 - bad) * on_good;
    test.needed_good_states = std::max(0.0, (test.accept_bad - log_ratio) / drift);
  } else {
    const double drift = good * on_loss + (1 - good) * on_good;
    test.needed_good_states = std::max(0.0, (test.accept_good - log_ratio) / drift);
  }
  return test;
}

}  // namespace fieldfare::stats
