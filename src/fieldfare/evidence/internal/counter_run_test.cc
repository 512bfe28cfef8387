// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/evidence/internal/counter_run.h"

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "fieldfare/evidence/test_support.h"

namespace fieldfare::evidence::internal {
namespace {

using Kind = Relation::Kind;

constexpr NodeFacts kEightBits{.sequence_bits = std::uint8_t{8}, .interval = Duration{kMinuteNs}};
constexpr NodeFacts kSixteenBits{.sequence_bits = std::uint8_t{16},
                                 .interval = Duration{kMinuteNs}};

/// A run that is heard on the beat, a minute a number.
struct Beat {
  explicit Beat(NodeFacts facts, std::uint32_t first = 0) : run{facts}, bits{facts.sequence_bits} {
    run.start(first, 0);
    start = first;
  }

  std::int64_t time_of(std::uint64_t number) const {
    return static_cast<std::int64_t>(number - start) * kMinuteNs;
  }
  std::uint32_t sent(std::uint64_t number) const {
    return static_cast<std::uint32_t>(bits ? number & ((std::uint64_t{1} << *bits) - 1) : number);
  }
  Relation relate(std::uint64_t number) const { return run.relate(sent(number), time_of(number)); }
  void hear(std::uint64_t number) {
    const Relation relation = relate(number);
    ASSERT_EQ(relation.kind, Kind::ahead) << number;
    ASSERT_EQ(relation.number, number);
    run.advance(relation, time_of(number));
  }
  void hear_to(std::uint64_t last) {
    while (run.head() < last) hear(run.head() + 1);
  }

  CounterRun run;
  std::optional<std::uint8_t> bits;
  std::uint64_t start = 0;
};

TEST(CounterRun, GoesOnWithTheNextNumberAndOverMissedOnes) {
  Beat beat(kSixteenBits);
  beat.hear(1);
  beat.hear(2);
  beat.hear(40);
  EXPECT_EQ(beat.run.expected(), 41U);
  EXPECT_TRUE(beat.run.heard(2));
  EXPECT_FALSE(beat.run.heard(3));
}

TEST(CounterRun, TakesANumberHeardAMomentAgoForTheSameReport) {
  Beat beat(kSixteenBits);
  beat.hear_to(5);
  EXPECT_EQ(beat.run.relate(5, beat.time_of(5) + kSecondNs).kind, Kind::repeat);
  EXPECT_EQ(beat.run.relate(3, beat.time_of(5)).kind, Kind::repeat);
}

TEST(CounterRun, TakesTheLastNumberAfterALongSilenceForAnotherReport) {
  Beat beat(kSixteenBits);
  beat.hear_to(5);
  EXPECT_EQ(beat.run.relate(5, beat.time_of(5) + beat.run.repeat_window_ns()).kind, Kind::repeat);
  EXPECT_EQ(beat.run.relate(5, beat.time_of(5) + beat.run.repeat_window_ns() + 1).kind, Kind::same);
}

TEST(CounterRun, FindsTheHoleOfALateReport) {
  Beat beat(kSixteenBits);
  beat.hear_to(5);
  beat.hear(9);
  const Relation late = beat.run.relate(7, beat.time_of(9) + kSecondNs);
  EXPECT_EQ(late.kind, Kind::hole);
  EXPECT_EQ(late.number, 7U);
  beat.run.fill(7, beat.time_of(9) + kSecondNs);
  EXPECT_EQ(beat.run.relate(7, beat.time_of(9) + 2 * kSecondNs).kind, Kind::repeat);
}

TEST(CounterRun, TakesReportsFromJustBeforeTheFirstOne) {
  Beat beat(kSixteenBits, 10);
  beat.hear_to(12);
  for (const std::uint32_t number : {8U, 9U, 7U}) {
    const Relation late = beat.run.relate(number, beat.time_of(12));
    ASSERT_EQ(late.kind, Kind::hole) << number;
    beat.run.fill(number, beat.time_of(12));
  }
  EXPECT_EQ(beat.run.first(), 7U);
  EXPECT_EQ(beat.run.expected(), 6U);
  EXPECT_EQ(Beat(kSixteenBits, 10).run.relate(6, kSecondNs).kind, Kind::foreign);
}

TEST(CounterRun, HasNoPlaceForANumberFarBehind) {
  Beat beat(kSixteenBits, 5000);
  beat.hear_to(5600);
  const Relation far = beat.run.relate(100, beat.time_of(5600) + kMinuteNs);
  EXPECT_EQ(far.kind, Kind::foreign);
  EXPECT_FALSE(far.above);
}

TEST(CounterRun, HasNoPlaceForANumberTheClockDoesNotAllow) {
  Beat beat(kSixteenBits);
  beat.hear_to(20);
  const Relation far = beat.run.relate(9000, beat.time_of(21));
  EXPECT_EQ(far.kind, Kind::foreign);
  EXPECT_TRUE(far.above);
}

TEST(CounterRun, GoesRoundEightBits) {
  Beat beat(kEightBits, 250);
  beat.hear_to(600);
  EXPECT_EQ(beat.run.expected(), 351U);
}

TEST(CounterRun, CountsWholeTurnsMissedByTheClock) {
  for (const std::uint64_t missed : {255ULL, 256ULL, 300ULL, 511ULL, 512ULL, 2000ULL}) {
    Beat beat(kEightBits);
    beat.hear_to(20);
    beat.hear(20 + missed + 1);
    EXPECT_EQ(beat.run.expected(), 22 + missed) << missed;
  }
}

TEST(CounterRun, LearnsItsWidthFromATurnThatTheClockBearsOut) {
  Beat beat({.sequence_bits = std::nullopt, .interval = Duration{kMinuteNs}}, 240);
  beat.hear_to(255);
  beat.bits = std::uint8_t{8};
  beat.hear_to(700);
  EXPECT_EQ(beat.run.expected(), 461U);
}

TEST(CounterRun, DoesNotGuessATurnOfAnUnknownWidthWithoutABeat) {
  CounterRun run{NodeFacts{}};
  run.start(255, 0);
  EXPECT_EQ(run.relate(0, kMinuteNs).kind, Kind::foreign);
}

TEST(CounterRun, RefusesNumbersWiderThanItsCounter) {
  const CounterRun eight{kEightBits};
  EXPECT_TRUE(eight.fits(255));
  EXPECT_FALSE(eight.fits(256));
  EXPECT_TRUE(CounterRun{NodeFacts{}}.fits(UINT32_MAX));
  const CounterRun widest{{.sequence_bits = std::uint8_t{32}, .interval = std::nullopt}};
  EXPECT_TRUE(widest.fits(UINT32_MAX));
}

TEST(CounterRun, KnowsALinkThatHeardANumberBefore) {
  Beat beat(kSixteenBits);
  EXPECT_FALSE(beat.run.mark_link(0, 0));
  EXPECT_FALSE(beat.run.mark_link(0, 62));
  EXPECT_TRUE(beat.run.mark_link(0, 0));
  // Documented: the 64th and all after it share a bit.
  EXPECT_FALSE(beat.run.mark_link(0, 63));
  EXPECT_TRUE(beat.run.mark_link(0, 64));
}

TEST(CounterRun, AddsItsRunsUp) {
  Beat beat(kSixteenBits, 100);
  beat.hear_to(109);
  beat.run.end();
  EXPECT_EQ(beat.run.expected(), 10U);
  beat.run.start(0, 0);
  EXPECT_EQ(beat.run.expected(), 11U);
}

TEST(CounterRun, CountsTransitionsAsTheyFollowEachOther) {
  // Against a plain count over the whole list of heard and missed numbers.
  RandomStream random{1, "transitions"};
  for (int trial = 0; trial < 30; ++trial) {
    Beat beat(kSixteenBits);
    std::vector<bool> heard{true};
    const std::uint64_t numbers = 1 + random.below(3000);
    const double loss = random.uniform() * 0.6;
    while (heard.size() < numbers) heard.push_back(!random.bernoulli(loss));
    heard.push_back(true);
    for (std::size_t number = 1; number < heard.size(); ++number) {
      if (heard[number]) beat.hear(number);
    }
    beat.run.end();
    std::uint64_t counts[2][2] = {};
    for (std::size_t i = 1; i < heard.size(); ++i) ++counts[heard[i - 1] ? 1 : 0][heard[i] ? 1 : 0];
    EXPECT_EQ(beat.run.losses().good_good(), counts[1][1]);
    EXPECT_EQ(beat.run.losses().good_bad(), counts[1][0]);
    EXPECT_EQ(beat.run.losses().bad_good(), counts[0][1]);
    EXPECT_EQ(beat.run.losses().bad_bad(), counts[0][0]);
    EXPECT_EQ(beat.run.expected(), heard.size());
  }
}

TEST(CounterRun, FollowsTellsHowFarCounterAndClockDisagree) {
  Beat beat(kSixteenBits);
  beat.hear_to(10);
  EXPECT_NEAR(beat.run.follows(3, 5, 2 * kMinuteNs).value_or(-1), 0, 1e-9);
  EXPECT_NEAR(beat.run.follows(3, 5, 3 * kMinuteNs).value_or(-1), 1, 1e-9);
  EXPECT_FALSE(beat.run.follows(5, 5, kMinuteNs));
  EXPECT_FALSE(beat.run.follows(5, 4, kMinuteNs));
  EXPECT_FALSE(beat.run.follows(5, 500, kMinuteNs));
}

// Invented: bursts of a number every 20 ms, as captures of radio frames show.
TEST(CounterRun, ANarrowCounterThatMayHaveGoneHalfRoundRepeatsNothing) {
  constexpr std::int64_t kStepNs = kMinuteNs / 3000;
  CounterRun run{{.sequence_bits = std::uint8_t{8}, .interval = std::nullopt}};
  run.start(0, 0);
  for (std::uint32_t number = 1; number <= 40; ++number) {
    const std::int64_t at = number * kStepNs;
    run.advance(run.relate(number, at), at);
  }
  const std::int64_t head_ns = 40 * kStepNs;
  EXPECT_EQ(run.relate(30, head_ns + kStepNs).kind, Kind::repeat) << "a retry";
  EXPECT_NE(run.relate(30, head_ns + 200 * kStepNs).kind, Kind::repeat);
}

}  // namespace
}  // namespace fieldfare::evidence::internal
