// SPDX-License-Identifier: Apache-2.0
#include "generator.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "dice.h"

namespace fieldfare::truth {
namespace {

// First outputs as published with the generators' ports; from memory.
TEST(Dice, DrawTheKnownFirstOutputsOfTheirGenerators) {
  std::uint64_t state = 1234567;
  EXPECT_EQ(splitmix64(state), 6457827717110365317U);
  EXPECT_EQ(splitmix64(state), 3203168211198807973U);
  Dice dice{{1, 2, 3, 4}};
  EXPECT_EQ(dice.next(), 11520U);
  EXPECT_EQ(dice.next(), 0U);
  EXPECT_EQ(dice.next(), 1509978240U);
  EXPECT_EQ(dice.next(), 1215971899390074240U);
}

TEST(Dice, LogarithmAgreesWithTheStandardLibrary) {
  for (double x = 1e-300; x < 1e300; x *= 1.7) {
    EXPECT_NEAR(portable_log(x), std::log(x), 1e-15 * (1 + std::abs(std::log(x))) * 2) << x;
  }
}

// Exact moments of the normal distribution: 0, 1, 0, 3; and P(|X| > 1.959964) =
// 5 %. Limits of 5 standard errors: a false alarm in 2e6, and the seed is fixed.
TEST(Dice, NormalDeviatesHaveTheMomentsAndTailsOfANormal) {
  Dice dice{7};
  constexpr int kDraws = 1'000'000;
  double sum = 0;
  double squares = 0;
  double cubes = 0;
  double fourths = 0;
  int far = 0;
  for (int i = 0; i < kDraws; ++i) {
    const double x = dice.normal();
    sum += x;
    squares += x * x;
    cubes += x * x * x;
    fourths += x * x * x * x;
    far += std::abs(x) > 1.959963984540054 ? 1 : 0;
  }
  const double se = 1 / std::sqrt(kDraws);
  EXPECT_NEAR(sum / kDraws, 0, 5 * se);
  EXPECT_NEAR(squares / kDraws, 1, 5 * std::sqrt(2.0) * se);
  EXPECT_NEAR(cubes / kDraws, 0, 5 * std::sqrt(15.0) * se);
  EXPECT_NEAR(fourths / kDraws, 3, 5 * std::sqrt(96.0) * se);
  EXPECT_NEAR(far / static_cast<double>(kDraws), 0.05, 5 * std::sqrt(0.05 * 0.95) * se);
}

TEST(Loss, BurstyChainHasTheShareAndTheRunThatWereAsked) {
  const Loss loss = Loss::bursty(0.1, 4);
  EXPECT_DOUBLE_EQ(loss.share(), 0.1);
  EXPECT_DOUBLE_EQ(1 / loss.bad_to_good, 4);
  EXPECT_DOUBLE_EQ(Loss::independent(0.2).share(), 0.2);
  EXPECT_DOUBLE_EQ(Loss::independent(0.2).memory(), 0);
  EXPECT_EQ(Loss{}.share(), 0);
}

struct Counted {
  double lost_share = 0;
  double mean_run = 0;
};

Counted losses_of(const Truth& truth) {
  double lost = 0;
  double runs = 0;
  bool before = true;
  for (const SentReport& report : truth.sent) {
    const bool heard = report.heard_ns.has_value();
    lost += heard ? 0 : 1;
    runs += !heard && before ? 1 : 0;
    before = heard;
  }
  return {lost / static_cast<double>(truth.sent.size()), lost / runs};
}

// Closed forms of the chain: share p / (p + r), mean run 1 / r. Tolerances are
// five standard errors for 400,000 reports.
TEST(Generator, ChainLosesItsStationaryShareInRunsOfMeanOneOverR) {
  Setting setting;
  setting.reports = 400'000;
  setting.losses = {Loss::bursty(0.2, 8)};
  const Log log = generate(setting);
  const Counted counted = losses_of(log.truth);
  EXPECT_DOUBLE_EQ(log.truth.delivery, 0.8);
  EXPECT_NEAR(counted.lost_share, 0.2, 5 * std::sqrt(0.16 * 11.8 / 400'000));
  EXPECT_NEAR(counted.mean_run, 8, 5 * std::sqrt(56.0 / 10'000));
}

TEST(Generator, IndependentLossLeavesRunsOfOneOverTheDelivery) {
  Setting setting;
  setting.reports = 400'000;
  setting.losses = {Loss::independent(0.4)};
  const Counted counted = losses_of(generate(setting).truth);
  EXPECT_NEAR(counted.lost_share, 0.4, 5 * std::sqrt(0.24 / 400'000));
  EXPECT_NEAR(counted.mean_run, 1 / 0.6, 0.02);
}

TEST(Generator, TwoReceiversWithTheirOwnFatesLoseTheProduct) {
  Setting setting;
  setting.reports = 200'000;
  setting.losses = {Loss::independent(0.4), Loss::bursty(0.3, 2)};
  const Log own = generate(setting);
  EXPECT_DOUBLE_EQ(own.truth.delivery, 1 - 0.12);
  EXPECT_NEAR(losses_of(own.truth).lost_share, 0.12, 0.005);

  setting.one_fate = true;
  const Log shared = generate(setting);
  EXPECT_DOUBLE_EQ(shared.truth.delivery, 0.6);
  EXPECT_EQ(shared.truth.hearings, 2 * shared.truth.heard);
}

TEST(Generator, CounterWrapsAtItsWidthAndGoesOn) {
  Setting setting;
  setting.reports = 1000;
  setting.counter_bits = 8;
  setting.first_counter = 250;
  const Log log = generate(setting);
  for (std::size_t k = 0; k < log.truth.sent.size(); ++k) {
    EXPECT_EQ(log.truth.sent[k].seq, (250 + k) % 256);
  }
  EXPECT_EQ(log.truth.expected, 1000U);
  EXPECT_EQ(log.truth.missed(), 0U);
}

TEST(Generator, IsTheSameForTheSameSeedAndOtherForAnother) {
  Setting setting;
  setting.losses = {Loss::bursty(0.1, 2)};
  setting.white_jitter = 0.01;
  setting.duplicates = 0.05;
  setting.shuffle_window = 8;
  const Log log = generate(setting);
  EXPECT_EQ(log.rows, generate(setting).rows);
  setting.seed = 2;
  EXPECT_NE(log.rows, generate(setting).rows);
}

// sd of the mean interval over n steps: white sqrt(2) s / n, accumulating
// s / sqrt(n) (exact, differences of independent deviates). 5 standard errors.
TEST(Generator, JitterSpreadsTheMeanIntervalAsItsKindMust) {
  const auto spread_of = [](double white, double accumulating) {
    double squares = 0;
    for (std::uint64_t seed = 1; seed <= 400; ++seed) {
      Setting setting;
      setting.seed = seed;
      setting.reports = 101;
      setting.white_jitter = white;
      setting.accumulating_jitter = accumulating;
      const Truth truth = generate(setting).truth;
      const double span_s =
          static_cast<double>(truth.sent.back().time_ns - truth.sent.front().time_ns) * 1e-9;
      const double off = span_s / 100 / setting.interval_s - 1;
      squares += off * off;
    }
    return std::sqrt(squares / 400);
  };
  const double tolerance = 5 / std::sqrt(800.0);
  EXPECT_NEAR(spread_of(0.01, 0) / (0.01 * std::sqrt(2.0) / 100), 1, tolerance);
  EXPECT_NEAR(spread_of(0, 0.01) / (0.01 / 10), 1, tolerance);
}

TEST(Generator, ResetsRestartTheCounterAndAreTruthAtTheFirstHearingAfterwards) {
  Setting setting;
  setting.reports = 300;
  setting.first_counter = 5000;
  setting.starts_at = 1;
  setting.resets = {100, 200};
  const Log log = generate(setting);
  ASSERT_EQ(log.truth.restarts.size(), 2U);
  EXPECT_EQ(log.truth.sent[100].seq, 1U);
  EXPECT_EQ(log.truth.sent[250].seq, 51U);
  EXPECT_EQ(log.truth.restarts[0].at_ns, log.truth.sent[100].time_ns);
  EXPECT_EQ(log.truth.restarts[0].kind, RestartKind::reset);
  EXPECT_TRUE(log.truth.restarts[0].identifiable);
  EXPECT_EQ(log.truth.expected, 300U);
}

TEST(Generator, ResetsDrawnByLotLieElsewhereInEveryLog) {
  std::set<std::int64_t> instants;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    Setting setting;
    setting.seed = seed;
    setting.random_resets = 2;
    for (const Restart& restart : generate(setting).truth.restarts) instants.insert(restart.at_ns);
  }
  EXPECT_EQ(instants.size(), 40U);
}

TEST(Generator, ResetThatLooksLikeLossIsNotCalledIdentifiable) {
  Setting setting;
  setting.reports = 50;
  setting.counter_bits = 8;
  setting.first_counter = 256 - 30;  // the counter would come to 0 at report 30 by itself
  setting.resets = {30};
  setting.longest_off_intervals = 0;  // the counter runs no further than the clock
  const Log log = generate(setting);
  ASSERT_EQ(log.truth.restarts.size(), 1U);
  EXPECT_FALSE(log.truth.restarts[0].identifiable);
}

TEST(Generator, StandstillRepeatsTheNumberAfterItsSleep) {
  Setting setting;
  setting.reports = 100;
  setting.standstills = {{50, 1000}};
  const Log log = generate(setting);
  ASSERT_EQ(log.truth.restarts.size(), 1U);
  EXPECT_EQ(log.truth.restarts[0].kind, RestartKind::stood_still);
  EXPECT_TRUE(log.truth.restarts[0].identifiable);
  EXPECT_EQ(log.truth.sent[50].seq, log.truth.sent[49].seq);
  EXPECT_EQ(log.truth.missed(), 0U);
  EXPECT_NEAR(static_cast<double>(log.truth.sent[50].time_ns - log.truth.sent[49].time_ns) * 1e-9,
              1000 * setting.interval_s, 1e-6);
}

TEST(Generator, IntervalChangesFromTheReportThatWasAskedOn) {
  Setting setting;
  setting.reports = 100;
  setting.changes = {{60, 1.25}};
  const Log log = generate(setting);
  const auto step_s = [&](std::size_t k) {
    return static_cast<double>(log.truth.sent[k].time_ns - log.truth.sent[k - 1].time_ns) * 1e-9;
  };
  EXPECT_NEAR(step_s(60), 31, 1e-6);
  EXPECT_NEAR(step_s(61), 38.75, 1e-6);
  ASSERT_EQ(log.truth.changes.size(), 1U);
  EXPECT_EQ(log.truth.changes[0].at_ns, log.truth.sent[60].time_ns);
  EXPECT_DOUBLE_EQ(log.truth.last_interval_s, 38.75);
}

TEST(Generator, ExpectedAndHeardBalanceWithTheRowsWhateverHappens) {
  for (std::uint64_t seed = 1; seed <= 50; ++seed) {
    Setting setting;
    setting.seed = seed;
    setting.counter_bits = 8;
    setting.losses = {Loss::bursty(0.2, 4), Loss::independent(0.4)};
    setting.duplicates = 0.05;
    setting.strays = 0.01;
    setting.reset_rate = 0.003;
    setting.shuffle_window = 10;
    setting.late = {3, 20, 100};
    const Log log = generate(setting);
    const Truth& truth = log.truth;
    EXPECT_EQ(log.rows.size(), truth.hearings + truth.strays);

    std::set<std::uint32_t> runs;
    std::uint64_t expected = 0;
    for (std::uint32_t run = 0; run <= truth.sent.back().run; ++run) {
      std::vector<std::size_t> heard;
      for (std::size_t k = 0; k < truth.sent.size(); ++k) {
        if (truth.sent[k].run == run && truth.sent[k].heard_ns) heard.push_back(k);
      }
      if (heard.empty()) continue;
      runs.insert(run);
      expected += heard.back() - heard.front() + 1;
    }
    EXPECT_EQ(truth.expected, expected);
    EXPECT_EQ(truth.restarts.size(), runs.size() - 1);
  }
}

TEST(Generator, StraysAreFarFromTheCounterAndBetweenTheBeats) {
  Setting setting;
  setting.strays = 0.02;
  const Log log = generate(setting);
  ASSERT_GT(log.truth.strays, 5U);
  std::uint64_t off_beat = 0;
  for (std::size_t i = 1; i < log.rows.size(); ++i) {
    const std::uint64_t step = (log.rows[i].seq - log.rows[i - 1].seq) & 0xffff;
    off_beat += step != 1 ? 1 : 0;
  }
  EXPECT_EQ(off_beat, 2 * log.truth.strays);  // there and back
}

TEST(Generator, DisorderMovesRowsInTheFileAndNothingElse) {
  Setting setting;
  setting.reports = 500;
  const std::vector<Row> straight = generate(setting).rows;
  setting.shuffle_window = 16;
  setting.late = {2, 20, 100};
  std::vector<Row> disordered = generate(setting).rows;
  EXPECT_NE(disordered, straight);
  std::ranges::sort(disordered, {}, &Row::time_ns);
  EXPECT_EQ(disordered, straight);
}

TEST(Interleave, KeepsEachNodesRowsInTheirFileOrder) {
  Setting setting;
  setting.reports = 200;
  setting.shuffle_window = 10;
  std::vector<Log> logs;
  for (setting.seed = 1; setting.seed <= 3; ++setting.seed) logs.push_back(generate(setting));
  const std::vector<Row> all = interleave(logs);
  for (std::uint32_t node = 0; node < 3; ++node) {
    std::vector<Row> own;
    std::ranges::copy_if(all, std::back_inserter(own),
                         [&](const Row& r) { return r.node == node; });
    for (Row& row : own) row.node = 0;
    EXPECT_EQ(own, logs[node].rows);
  }
}

}  // namespace
}  // namespace fieldfare::truth
