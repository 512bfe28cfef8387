// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/evidence/internal/cadence_fold.h"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "fieldfare/evidence/test_support.h"

namespace fieldfare::evidence::internal {
namespace {

/// Sends reports to a fold, on a beat that the test may change. Times are exact, so
/// what is expected of them follows from the definition.
struct Sender {
  void report(std::uint64_t numbers = 1) {
    number += numbers;
    time_ns += static_cast<std::int64_t>(numbers) * interval_ns;
    fold.add(number, time_ns);
  }
  void reports(int count) {
    for (int i = 0; i < count; ++i) report();
  }
  /// `jitter_ns` about the beat, as white noise.
  void jittered(int count, double jitter_ns) {
    for (int i = 0; i < count; ++i) {
      ++number;
      time_ns += interval_ns;
      fold.add(number, time_ns + std::llround(jitter_ns * random.normal()));
    }
  }
  Cadence cadence() const { return *fold.summary(0.95); }

  CadenceFold fold;
  std::uint64_t number = 1000;
  std::int64_t time_ns = 0;
  std::int64_t interval_ns = kMinuteNs;
  RandomStream random{1, "sender"};
};

TEST(CadenceFold, KnowsNothingFromOneReport) {
  Sender sender;
  EXPECT_FALSE(sender.fold.summary(0.95));
  sender.report();
  EXPECT_FALSE(sender.fold.summary(0.95));
}

TEST(CadenceFold, GivesAnIntervalFromTwoReportsAndItsUncertaintyFromThree) {
  Sender sender;
  sender.reports(2);
  EXPECT_NEAR(sender.cadence().interval_s, 60, 1e-9);
  EXPECT_FALSE(sender.cadence().interval);
  sender.report();
  EXPECT_NEAR(sender.cadence().interval_s, 60, 1e-9);
  EXPECT_TRUE(sender.cadence().interval);
}

TEST(CadenceFold, FindsASteadyBeatExactlyHoweverManyReports) {
  for (const int count : {10, 300, 20'000}) {
    Sender sender;
    sender.interval_ns = 61'234'567'891;
    sender.reports(count);
    const Cadence cadence = sender.cadence();
    EXPECT_NEAR(cadence.interval_s, 61.234567891, 1e-9) << count;
    EXPECT_LT(cadence.jitter_s, 1e-6);
    EXPECT_TRUE(cadence.changes.empty());
  }
}

TEST(CadenceFold, IsNotMisledByMissedNumbers) {
  Sender sender;
  for (int i = 0; i < 200; ++i) sender.report(1 + sender.random.below(5));
  EXPECT_NEAR(sender.cadence().interval_s, 60, 1e-9);
  EXPECT_TRUE(sender.cadence().changes.empty());
}

TEST(CadenceFold, MeasuresWhiteJitter) {
  Sender sender;
  sender.jittered(3000, 2e9);
  // The spread of some 3000 differences, known to about 1 / sqrt(3000); four times.
  EXPECT_NEAR(sender.cadence().jitter_s, 2, 4 * 2 / std::sqrt(3000.0));
  const Estimate interval = *sender.cadence().interval;
  EXPECT_LT(interval.low, 60);
  EXPECT_GT(interval.high, 60);
  // A line's standard error is jitter sqrt(12 / n^3): 0.04 ms. The interval may be
  // half as wide again as four of those.
  EXPECT_LT(interval.high - interval.low, 1.5 * 4 * 2 * std::sqrt(12 / std::pow(3000.0, 3)));
}

TEST(CadenceFold, DatesAChangeToTheFirstReportAtTheNewInterval) {
  Sender sender;
  sender.reports(100);
  sender.interval_ns = 5 * kMinuteNs;
  const std::int64_t first_new = sender.time_ns + sender.interval_ns;
  sender.reports(40);
  const Cadence cadence = sender.cadence();
  ASSERT_EQ(cadence.changes.size(), 1U);
  EXPECT_EQ(cadence.changes[0].at.ns, first_new);
  EXPECT_EQ(cadence.changes[0].from.ns, kMinuteNs);
  EXPECT_EQ(cadence.changes[0].to.ns, 5 * kMinuteNs);
  EXPECT_NEAR(cadence.interval_s, 300, 1e-9);
}

TEST(CadenceFold, FindsAChangeToAFasterBeatAndBackAmongJitter) {
  Sender sender;
  sender.jittered(100, 0.5e9);
  sender.interval_ns = kMinuteNs / 2;
  sender.jittered(100, 0.5e9);
  sender.interval_ns = kMinuteNs;
  sender.jittered(100, 0.5e9);
  const Cadence cadence = sender.cadence();
  ASSERT_EQ(cadence.changes.size(), 2U);
  EXPECT_NEAR(cadence.changes[0].to.in_seconds(), 30, 0.5);
  EXPECT_NEAR(cadence.changes[1].to.in_seconds(), 60, 0.5);
  EXPECT_NEAR(cadence.interval_s, 60, 0.2);
}

TEST(CadenceFold, LeavesAReportOffTheBeatOut) {
  Sender sender;
  sender.reports(50);
  // Provoked: 20 s after the last, and the next one is on the beat again.
  sender.fold.add(++sender.number, sender.time_ns + 20 * kSecondNs);
  sender.time_ns += kMinuteNs;
  sender.reports(50);
  EXPECT_NEAR(sender.cadence().interval_s, 60, 1e-9);
  EXPECT_LT(sender.cadence().jitter_s, 1e-6);
  EXPECT_TRUE(sender.cadence().changes.empty());
}

TEST(CadenceFold, BeginsAfreshAfterASleepWithoutCallingItAChange) {
  Sender sender;
  sender.reports(50);
  sender.time_ns += 7 * kMinuteNs + 13 * kSecondNs;
  sender.reports(50);
  EXPECT_NEAR(sender.cadence().interval_s, 60, 1e-9);
  EXPECT_TRUE(sender.cadence().changes.empty());
}

TEST(CadenceFold, DoesNotCareForThePhaseOfANewRun) {
  Sender sender;
  sender.reports(50);
  sender.number = 0;
  sender.time_ns += 23 * kSecondNs;
  sender.fold.break_phase();
  sender.reports(50);
  EXPECT_NEAR(sender.cadence().interval_s, 60, 1e-9);
  EXPECT_LT(sender.cadence().jitter_s, 1e-6);
}

TEST(CadenceFold, LosesNothingWhereEveryFewReportsBreakThePhase) {
  Sender sender;
  for (int run = 0; run < 2000; ++run) {
    sender.time_ns += static_cast<std::int64_t>(sender.random.below(90)) * kSecondNs;
    sender.fold.break_phase();
    sender.reports(5);
  }
  EXPECT_NEAR(sender.cadence().interval_s, 60, 1e-6);
}

TEST(CadenceFold, CallsNoWanderOfAClockAChange) {
  // 2 % up and down over hundreds of reports, as a timer without a crystal does with
  // the temperature of the day (common practice).
  Sender sender;
  for (int i = 0; i < 3000; ++i) {
    sender.interval_ns =
        kMinuteNs + std::llround(0.02 * kMinuteNs * std::sin(static_cast<double>(i) / 150));
    sender.report();
  }
  EXPECT_TRUE(sender.cadence().changes.empty());
}

TEST(CadenceFold, KeepsTheLatestChangesAndCountsTheRest) {
  Sender sender;
  constexpr int kChanges = 300;
  for (int i = 0; i <= kChanges; ++i) {
    sender.interval_ns = i % 2 == 0 ? kMinuteNs : 2 * kMinuteNs;
    sender.reports(30);
  }
  const Cadence cadence = sender.cadence();
  EXPECT_EQ(cadence.changes.size() + cadence.earlier_changes, kChanges);
  EXPECT_EQ(cadence.changes.size(), 256U);
}

TEST(CadenceFold, GoesOnAfterSavingAndRestoringAtAnyReport) {
  Sender whole;
  Sender parted;
  for (int i = 0; i < 600; ++i) {
    for (Sender* sender : {&whole, &parted}) {
      if (i == 300) sender->interval_ns = 3 * kMinuteNs;
      if (i % 97 == 0) sender->fold.break_phase();
      sender->jittered(1, 1e9);
    }
    StateWriter writer;
    writer(parted.fold);
    const std::string bytes = writer.take();
    StateReader reader{bytes};
    parted.fold = CadenceFold{};
    reader(parted.fold);
    ASSERT_TRUE(reader.ok() && reader.at_end());
  }
  EXPECT_EQ(told(parted.cadence()), told(whole.cadence()));
  EXPECT_EQ(whole.cadence().changes.size(), 1U);
}

}  // namespace
}  // namespace fieldfare::evidence::internal
