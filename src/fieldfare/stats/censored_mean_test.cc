// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/censored_mean.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "fieldfare/base/random.h"

namespace fieldfare::stats {
namespace {

double below(double z) { return std::erfc(-z / std::numbers::sqrt2) / 2; }

/// The likelihood that the header states, of a sample given by its count, mean and
/// spread.
double log_likelihood(const CensoredSample& s, const CensoredFit& fit) {
  const auto measured = static_cast<double>(s.measured);
  const auto missed = static_cast<double>(s.missed);
  const double squares = s.sd * s.sd + (s.mean - fit.mean) * (s.mean - fit.mean);
  const double miss = fit.outage + (1 - fit.outage) * below((s.threshold - fit.mean) / fit.sd);
  const double missed_part = s.missed == 0 ? 0 : missed * std::log(miss);
  return measured *
             (std::log(1 - fit.outage) - std::log(fit.sd) - squares / (2 * fit.sd * fit.sd)) +
         missed_part;
}

/// Its maximum, by a search over a grid that closes in on the best cell.
CensoredFit brute_force(const CensoredSample& s) {
  CensoredFit best{.mean = s.mean, .sd = s.sd, .outage = 0};
  double best_value = log_likelihood(s, best);
  double mean_reach = 8 * s.sd;
  double sd_reach = 3 * s.sd;
  double outage_reach = 1;
  for (int round = 0; round < 40; ++round) {
    const CensoredFit centre = best;
    for (int i = -8; i <= 8; ++i) {
      for (int j = -8; j <= 8; ++j) {
        for (int k = -8; k <= 8; ++k) {
          const CensoredFit at{
              .mean = centre.mean + i * mean_reach / 8,
              .sd = centre.sd + j * sd_reach / 8,
              .outage = std::clamp(centre.outage + k * outage_reach / 8, 0.0, 0.999)};
          if (at.sd <= 0) continue;
          const double value = log_likelihood(s, at);
          if (value > best_value) {
            best_value = value;
            best = at;
          }
        }
      }
    }
    mean_reach *= 0.7;
    sd_reach *= 0.7;
    outage_reach *= 0.7;
  }
  return best;
}

/// A sample from a normal level with the losses of the model.
struct Truth {
  double mean;
  double sd;
  double outage;
  double threshold;
};

CensoredSample drawn(const Truth& truth, int count, RandomStream& random) {
  std::vector<double> levels;
  CensoredSample sample{
      .measured = 0, .mean = 0, .sd = 0, .missed = 0, .threshold = truth.threshold};
  for (int i = 0; i < count; ++i) {
    const double level = truth.mean + truth.sd * random.normal();
    const bool out = random.bernoulli(truth.outage);
    if (out || level < truth.threshold) {
      ++sample.missed;
    } else {
      levels.push_back(level);
    }
  }
  sample.measured = levels.size();
  for (const double level : levels) sample.mean += level / static_cast<double>(levels.size());
  for (const double level : levels) sample.sd += (level - sample.mean) * (level - sample.mean);
  sample.sd = std::sqrt(sample.sd / static_cast<double>(levels.size()));
  return sample;
}

TEST(FitCensored, IsThePlainMeanWhereNothingWasMissed) {
  const CensoredFit fit =
      fit_censored({.measured = 20, .mean = -71.5, .sd = 3.25, .missed = 0, .threshold = -100});
  EXPECT_DOUBLE_EQ(fit.mean, -71.5);
  EXPECT_DOUBLE_EQ(fit.sd, 3.25);
  EXPECT_EQ(fit.outage, 0);
}

TEST(FitCensored, FindsTheHighestLikelihoodOfAGridSearch) {
  // Independent implementation: the stated likelihood, searched by brute force.
  const CensoredSample samples[] = {
      // The threshold cuts off a third, a half, most.
      {.measured = 200, .mean = -95, .sd = 2.5, .missed = 100, .threshold = -98},
      {.measured = 100, .mean = -96, .sd = 1.8, .missed = 100, .threshold = -98},
      {.measured = 100, .mean = -96.5, .sd = 1.2, .missed = 300, .threshold = -98},
      // More missed than the threshold explains: an outage.
      {.measured = 100, .mean = -90, .sd = 3, .missed = 60, .threshold = -98},
      {.measured = 100, .mean = -93, .sd = 3, .missed = 100, .threshold = -98},
  };
  for (const CensoredSample& sample : samples) {
    const CensoredFit fit = fit_censored(sample);
    const CensoredFit best = brute_force(sample);
    EXPECT_GE(log_likelihood(sample, fit), log_likelihood(sample, best) - 1e-4)
        << fit.mean << " " << fit.sd << " " << fit.outage << " against " << best.mean << " "
        << best.sd << " " << best.outage;
    EXPECT_NEAR(fit.mean, best.mean, 0.05);
    EXPECT_NEAR(fit.sd, best.sd, 0.05);
    EXPECT_NEAR(fit.outage, best.outage, 0.005);
  }
}

TEST(FitCensored, RecoversTheLevelOfALinkOfWhichMostIsLost) {
  // The plain mean of what was measured is 6 dB off and more. An outage can't be
  // less than none, so the errors don't average out: they are bounded, not centred.
  RandomStream random{1, "censored"};
  const Truth truth{.mean = -102, .sd = 6, .outage = 0, .threshold = -99};
  double squares = 0;
  constexpr int kTrials = 40;
  for (int i = 0; i < kTrials; ++i) {
    const CensoredSample sample = drawn(truth, 5'000, random);
    ASSERT_GT(sample.mean, truth.mean + 6);
    squares += std::pow(fit_censored(sample).mean - truth.mean, 2);
  }
  EXPECT_LT(std::sqrt(squares / kTrials), 2);
}

TEST(FitCensored, TellsAnOutageFromAWeakSignal) {
  RandomStream random{2, "outage"};
  const Truth strong{.mean = -70, .sd = 4, .outage = 0.3, .threshold = -99};
  const CensoredFit fit = fit_censored(drawn(strong, 20'000, random));
  // Binomial standard error sqrt(0.3 * 0.7 / 20000) = 0.0032; four of them.
  EXPECT_NEAR(fit.outage, 0.3, 0.013);
  EXPECT_NEAR(fit.mean, -70, 0.15);
  EXPECT_NEAR(fit.sd, 4, 0.1);
}

TEST(FitCensored, NeverRaisesTheMean) {
  RandomStream random{3, "sweep"};
  for (int i = 0; i < 500; ++i) {
    const CensoredSample sample{.measured = 2 + random.below(500),
                                .mean = -99 + 40 * random.uniform(),
                                .sd = 0.1 + 10 * random.uniform(),
                                .missed = random.below(2000),
                                .threshold = -100};
    const CensoredFit fit = fit_censored(sample);
    EXPECT_LE(fit.mean, sample.mean + 1e-9);
    EXPECT_TRUE(std::isfinite(fit.mean));
    EXPECT_GT(fit.sd, 0);
    EXPECT_GE(fit.outage, 0);
    EXPECT_LE(fit.outage, 1);
  }
}

}  // namespace
}  // namespace fieldfare::stats
