// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/gilbert.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <string>
#include <vector>

#include "fieldfare/base/random.h"
#include "fieldfare/stats/sprt.h"

namespace fieldfare::stats {
namespace {

/// Beta(prior, prior), from which a rate's posterior comes.
enum class Prior : std::uint8_t { jeffreys, uniform };

/// The posterior of a rate, as masses on a fine grid. With rate = sin^2(angle) the
/// density is sin^(2a - 1) cos^(2b - 1) for Beta(a, b), without poles at the ends.
class RatePosterior {
 public:
  RatePosterior(std::uint64_t taken, std::uint64_t not_taken, Prior prior)
      : below_(kCells + 1, 0.0) {
    const double more = prior == Prior::uniform ? 1 : 0;
    const auto log_density = [&](double angle) {
      return (2 * static_cast<double>(taken) + more) * std::log(std::sin(angle)) +
             (2 * static_cast<double>(not_taken) + more) * std::log(std::cos(angle));
    };
    double most = -1e300;
    for (std::size_t i = 0; i < kCells; ++i) most = std::max(most, log_density(angle_of(i)));
    for (std::size_t i = 0; i < kCells; ++i) {
      below_[i + 1] = below_[i] + std::exp(log_density(angle_of(i)) - most);
    }
    const double total = below_.back();
    for (double& share : below_) share /= total;
  }

  static constexpr std::size_t kCells = 20'000;
  static double rate_of(std::size_t cell) { return std::pow(std::sin(angle_of(cell)), 2); }
  double mass(std::size_t cell) const { return below_[cell + 1] - below_[cell]; }

  /// P(rate <= x).
  double below(double x) const {
    if (x >= 1) return 1;
    const double at = std::asin(std::sqrt(x)) / kStep;
    const auto cell = std::min(static_cast<std::size_t>(at), kCells - 1);
    return below_[cell] + (at - static_cast<double>(cell)) * mass(cell);
  }

 private:
  static constexpr double kStep = std::numbers::pi / 2 / kCells;
  static double angle_of(std::size_t cell) { return (static_cast<double>(cell) + 0.5) * kStep; }

  std::vector<double> below_;
};

/// The share's posterior quantile by integration over the grid: independent of
/// the product grid under test.
double integrated_quantile(const ChainCounts& counts, double wanted) {
  const RatePosterior to_bad(counts.good_bad, counts.good_good, Prior::jeffreys);
  const RatePosterior to_good(counts.bad_good, counts.bad_bad,
                              counts.bad_good == 0 ? Prior::uniform : Prior::jeffreys);
  // share = r / (p + r) <= s  is the same as  r <= p s / (1 - s).
  const auto below = [&](double share) {
    double sum = 0;
    for (std::size_t i = 0; i < RatePosterior::kCells; ++i) {
      sum += to_bad.mass(i) * to_good.below(RatePosterior::rate_of(i) * share / (1 - share));
    }
    return sum;
  };
  double low = 0;
  double high = 1;
  for (int i = 0; i < 50; ++i) {
    const double middle = (low + high) / 2;
    (below(middle) < wanted ? low : high) = middle;
  }
  return (low + high) / 2;
}

constexpr ChainCounts kChains[] = {
    {.good_good = 0, .good_bad = 0, .bad_good = 0, .bad_bad = 0},
    {.good_good = 11, .good_bad = 0, .bad_good = 0, .bad_bad = 0},
    {.good_good = 9, .good_bad = 1, .bad_good = 1, .bad_bad = 0},
    {.good_good = 90, .good_bad = 4, .bad_good = 4, .bad_bad = 12},
    {.good_good = 960, .good_bad = 20, .bad_good = 20, .bad_bad = 0},
    {.good_good = 3000, .good_bad = 30, .bad_good = 30, .bad_bad = 90},
    {.good_good = 50, .good_bad = 50, .bad_good = 50, .bad_bad = 300},
    {.good_good = 0, .good_bad = 30, .bad_good = 30, .bad_bad = 30},
};

std::string named(const ChainCounts& c) {
  return std::to_string(c.good_good) + "/" + std::to_string(c.good_bad) + "/" +
         std::to_string(c.bad_good) + "/" + std::to_string(c.bad_bad);
}

TEST(GoodShareInterval, AgreesWithNumericalIntegrationToTwoPercentOfItsWidth) {
  for (const ChainCounts& counts : kChains) {
    for (const double confidence : {0.5, 0.8, 0.95}) {
      const ShareInterval got = good_share_interval(counts, confidence);
      const double low = integrated_quantile(counts, (1 - confidence) / 2);
      const double high = integrated_quantile(counts, (1 + confidence) / 2);
      EXPECT_NEAR(got.low, low, 0.02 * (high - low)) << named(counts) << " at " << confidence;
      if (counts.good_bad + counts.bad_bad > 0) {
        EXPECT_NEAR(got.high, high, 0.02 * (high - low)) << named(counts) << " at " << confidence;
      }
    }
  }
}

TEST(GoodShareInterval, ReachesExactlyOneWhereNothingWasLostAndNowhereElse) {
  for (const ChainCounts& counts : kChains) {
    const bool nothing_lost = counts.good_bad == 0 && counts.bad_bad == 0;
    EXPECT_EQ(good_share_interval(counts, 0.95).high == 1.0, nothing_lost) << named(counts);
  }
}

TEST(GoodShareInterval, FallsWithEachLossRunBegunAndRisesWithEachEnded) {
  const ChainCounts before{.good_good = 90, .good_bad = 5, .bad_good = 5, .bad_bad = 5};
  const ShareInterval base = good_share_interval(before, 0.95);
  const auto with = [&](std::uint64_t ChainCounts::*count) {
    ChainCounts more = before;
    more.*count += 3;
    return good_share_interval(more, 0.95);
  };
  for (const auto count : {&ChainCounts::good_good, &ChainCounts::bad_good}) {
    EXPECT_GT(with(count).low, base.low);
    EXPECT_GT(with(count).high, base.high);
  }
  for (const auto count : {&ChainCounts::good_bad, &ChainCounts::bad_bad}) {
    EXPECT_LT(with(count).low, base.low);
    EXPECT_LT(with(count).high, base.high);
  }
}

TEST(GoodShareInterval, NarrowsWithMoreOfTheSameAndWidensWithConfidence) {
  const ChainCounts few{.good_good = 45, .good_bad = 5, .bad_good = 5, .bad_bad = 5};
  const ChainCounts many{.good_good = 450, .good_bad = 50, .bad_good = 50, .bad_bad = 50};
  const ShareInterval at_few = good_share_interval(few, 0.95);
  const ShareInterval at_many = good_share_interval(many, 0.95);
  EXPECT_LT(at_many.high - at_many.low, 0.5 * (at_few.high - at_few.low));
  const ShareInterval surer = good_share_interval(few, 0.99);
  EXPECT_LT(surer.low, at_few.low);
  EXPECT_GT(surer.high, at_few.high);
}

TEST(GoodShareInterval, IsWiderForLossesInRunsThanForAsManyAlone) {
  // 40 of 1000 lost: by fours, or one by one.
  const ShareInterval runs =
      good_share_interval({.good_good = 949, .good_bad = 10, .bad_good = 10, .bad_bad = 30}, 0.95);
  const ShareInterval alone =
      good_share_interval({.good_good = 919, .good_bad = 40, .bad_good = 40, .bad_bad = 0}, 0.95);
  EXPECT_GT(runs.high - runs.low, 1.5 * (alone.high - alone.low));
}

/// Shares that give the begin rates 0.05 and 0.10 where each loss run is one
/// report long: rate = (1 - share) / share / run.
constexpr ChainHypotheses kFiveTen{
    .good_share = 1 / 1.05, .bad_share = 1 / 1.10, .mean_loss_run = 1, .alpha = 0.05, .beta = 0.05};

TEST(TestChain, HasWaldsLimits) {
  // ln 19, from Wald's (1 - beta) / alpha and beta / (1 - alpha) (from memory).
  const ChainTest test = test_chain({}, kFiveTen);
  EXPECT_NEAR(test.accept_bad, 2.944438979166440, 1e-12);
  EXPECT_NEAR(test.accept_good, -2.944438979166440, 1e-12);
  EXPECT_EQ(test.log_ratio, 0);
}

TEST(TestChain, CountsALossRunAndAReportHeardAsWaldsRatioDoes) {
  // ln(0.10 / 0.05) and ln(0.90 / 0.95), worked out by hand.
  EXPECT_NEAR(test_chain({.good_bad = 1}, kFiveTen).log_ratio, 0.693147180559945, 1e-12);
  EXPECT_NEAR(test_chain({.good_good = 1}, kFiveTen).log_ratio, -0.054067221270276, 1e-12);
  EXPECT_EQ(test_chain({.bad_good = 7, .bad_bad = 9}, kFiveTen).log_ratio, 0);
}

TEST(TestChain, CrossesItsLimitsOnTheLinesOfTheTestOnSingleReports) {
  // With runs of one report it is Wald's test of a proportion: the lines for 5 %
  // against 10 %, as computed in sprt_test (formula from memory).
  const SprtLines lines = sprt_lines({0.05, 0.10, 0.05, 0.05});
  for (std::uint64_t n = 1; n <= 400; n += 7) {
    for (std::uint64_t lost = 0; lost <= std::min<std::uint64_t>(n, 40); ++lost) {
      const ChainTest test = test_chain({.good_good = n - lost, .good_bad = lost}, kFiveTen);
      const auto d = static_cast<double>(lost);
      const double slope = lines.slope * static_cast<double>(n);
      EXPECT_EQ(test.log_ratio >= test.accept_bad, d >= lines.intercept_high + slope);
      EXPECT_EQ(test.log_ratio <= test.accept_good, d <= lines.intercept_low + slope);
    }
  }
}

TEST(TestChain, NeedsAsManyAsWaldsMeanSaysWithoutTheOtherLimit) {
  // Wald's mean at 5 % is 158.6 (computed in Python, formula from memory); it takes the
  // distance to the limits as (1 - alpha) ln 19 - alpha ln 19 = 0.9 ln 19, where
  // this one takes the whole way to the nearer.
  EXPECT_NEAR(test_chain({}, kFiveTen).needed_good_states, 158.6 / 0.9, 0.06);
  const ChainTest towards_bad = test_chain({.good_bad = 1}, kFiveTen);
  const double left = (2.944438979166440 - 0.693147180559945) / 2.944438979166440;
  EXPECT_NEAR(towards_bad.needed_good_states, 128.3 / 0.9 * left, 0.06);
}

TEST(TestChain, NeedsNothingMoreBeyondALimit) {
  EXPECT_EQ(test_chain({.good_good = 400}, kFiveTen).needed_good_states, 0);
  EXPECT_EQ(test_chain({.good_bad = 30}, kFiveTen).needed_good_states, 0);
}

TEST(TestChain, KeepsItsRisksForChainsWithLongLossRuns) {
  // Simulated chains at exactly the two shares, losses in runs of four. Risks of
  // 5 % nominal; Wald's bound is alpha / (1 - beta) = 5.3 %, and 2000 trials have a
  // standard error of 0.5 %.
  const ChainHypotheses hypotheses{
      .good_share = 0.97, .bad_share = 0.90, .mean_loss_run = 4, .alpha = 0.05, .beta = 0.05};
  RandomStream random{20, "gilbert"};
  constexpr int kTrials = 2000;
  const auto wrong = [&](double share, bool good) {
    int count = 0;
    for (int i = 0; i < kTrials; ++i) {
      ChainCounts counts;
      for (bool decided = false; !decided;) {
        const bool begins = random.bernoulli((1 - share) / share / 4);
        ++(begins ? counts.good_bad : counts.good_good);
        const ChainTest test = test_chain(counts, hypotheses);
        const bool failed = test.log_ratio >= test.accept_bad;
        decided = failed || test.log_ratio <= test.accept_good;
        if (decided && failed == good) ++count;
      }
    }
    return static_cast<double>(count) / kTrials;
  };
  EXPECT_LT(wrong(0.97, true), 0.053 + 4 * 0.005);
  EXPECT_LT(wrong(0.90, false), 0.053 + 4 * 0.005);
}

}  // namespace
}  // namespace fieldfare::stats
