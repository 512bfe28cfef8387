// SPDX-License-Identifier: Apache-2.0
//
// Reports made by hand (invented): what is checked are exact beats and limiting cases.
#include "fieldfare/judge/first_beat.h"

#include <gtest/gtest.h>

#include <string>
#include <vector>

namespace fieldfare::judge {
namespace {

Instant at(double s) { return Instant{} + Duration::seconds(s); }

class Beats {
 public:
  Beats& report(double at_s, std::optional<std::uint64_t> sequence = std::nullopt) {
    FirstReport report;
    report.at = at(at_s);
    report.sequence = sequence;
    node_.reports.push_back(report);
    return *this;
  }
  Beats& bits(int bits) {
    node_.terms.sequence_bits = bits;
    return *this;
  }
  Beats& starts_at(std::uint64_t start) {
    node_.terms.starts_at = start;
    return *this;
  }
  Beats& interval(double s) {
    node_.terms.interval = Duration::seconds(s);
    return *this;
  }
  Beats& provoked(double at_s) {
    provoked_.push_back(at(at_s));
    return *this;
  }
  FirstBeat beat() const { return first_beat(node_, provoked_); }
  StepKind last_step() const { return counter_steps(node_).back().kind; }
  double interval_s() const {
    const auto interval = beat().interval;
    return interval ? interval->in_seconds() : -1;
  }
  /// `.` for a report on or after its beat, `x` for one ahead of it.
  std::string extras() const {
    std::string text;
    for (const bool extra : beat().is_extra) text += extra ? 'x' : '.';
    return text;
  }

 private:
  FirstNode node_;
  std::vector<Instant> provoked_;
};

TEST(FirstBeat, AnEightBitCounterThatTurnsGoesOnByOne) {
  EXPECT_EQ(Beats{}.bits(8).report(0, 255).report(60, 0).last_step(), StepKind::one);
  EXPECT_EQ(Beats{}.bits(16).report(0, 255).report(60, 0).last_step(), StepKind::restart);
}

TEST(FirstBeat, AReportLostAtTheTurnIsNoRestart) {
  EXPECT_EQ(Beats{}.bits(8).report(0, 254).report(60, 0).last_step(), StepKind::skipped);
  EXPECT_EQ(Beats{}.bits(8).report(0, 250).report(60, 0).last_step(), StepKind::restart);
}

TEST(FirstBeat, ACounterBackNearItsStartHasRestartedAndOneBackElsewhereJumped) {
  EXPECT_EQ(Beats{}.starts_at(100).report(0, 200).report(60, 100).last_step(), StepKind::restart);
  EXPECT_EQ(Beats{}.starts_at(100).report(0, 200).report(60, 103).last_step(), StepKind::restart);
  EXPECT_EQ(Beats{}.starts_at(100).report(0, 200).report(60, 104).last_step(), StepKind::jump);
  EXPECT_EQ(Beats{}.bits(16).starts_at(100).report(0, 200).report(60, 1).last_step(),
            StepKind::jump);
  EXPECT_EQ(Beats{}.report(0, 200).report(60, 3).last_step(), StepKind::restart);
  EXPECT_EQ(Beats{}.bits(16).report(0, 200).report(60, 4).last_step(), StepKind::jump);
}

TEST(FirstBeat, TheSameNumberAgainStoodStillAndNoNumberSaysNothing) {
  EXPECT_EQ(Beats{}.report(0, 17).report(60, 17).last_step(), StepKind::still);
  EXPECT_EQ(Beats{}.report(0, 17).report(60).last_step(), StepKind::unnumbered);
  EXPECT_EQ(Beats{}.report(0, 17).report(60, 17 + 64).last_step(), StepKind::skipped);
  EXPECT_EQ(Beats{}.report(0, 17).report(60, 17 + 65).last_step(), StepKind::jump);
}

TEST(FirstBeat, AnExactBeatIsMeasuredExactlyThroughMissedReports) {
  EXPECT_DOUBLE_EQ(Beats{}.report(0, 5).report(60, 6).report(240, 9).report(300, 10).interval_s(),
                   60);
  EXPECT_DOUBLE_EQ(Beats{}.report(0, 5).report(180, 8).interval_s(), 60);
}

TEST(FirstBeat, OneReportHasNoBeatButThatOfItsTerms) {
  EXPECT_EQ(Beats{}.report(0, 5).interval_s(), -1);
  EXPECT_DOUBLE_EQ(Beats{}.interval(60).report(0, 5).interval_s(), 60);
}

TEST(FirstBeat, WhatReportsShowStandsOverItsTerms) {
  EXPECT_DOUBLE_EQ(Beats{}.interval(60).report(0, 1).report(90, 2).report(180, 3).interval_s(), 90);
}

TEST(FirstBeat, ReportsHeardWhileItWasProvokedTellNoBeat) {
  EXPECT_EQ(Beats{}.report(0, 5).report(500, 6).provoked(498).interval_s(), -1);
}

TEST(FirstBeat, TheTimeToARestartTellsNoBeat) {
  EXPECT_EQ(Beats{}.report(0, 50).report(20, 0).interval_s(), -1);
  EXPECT_DOUBLE_EQ(Beats{}.report(0, 50).report(60, 51).report(70, 0).report(130, 1).interval_s(),
                   60);
}

TEST(FirstBeat, AReportBetweenTwoBeatsIsExtraAndTheNextBeatIsNot) {
  EXPECT_EQ(Beats{}
                .report(0, 5)
                .report(60, 6)
                .report(120, 7)
                .report(150, 8)
                .report(180, 9)
                .report(240, 10)
                .extras(),
            "...x..");
}

TEST(FirstBeat, AnExtraReportMaySetTheBeatAnew) {
  EXPECT_EQ(Beats{}
                .report(0, 5)
                .report(60, 6)
                .report(120, 7)
                .report(150, 8)
                .report(210, 9)
                .report(270, 10)
                .extras(),
            "...x..");
}

TEST(FirstBeat, ALateReportIsNotExtra) {
  EXPECT_EQ(
      Beats{}.report(0, 5).report(60, 6).report(120, 7).report(210, 8).report(270, 9).extras(),
      ".....");
}

TEST(FirstBeat, AClockThreePerCentFastIsNotAlwaysAheadOfItsTerms) {
  EXPECT_EQ(Beats{}.interval(60).report(0, 5).report(58.2, 6).extras(), "..");
}

TEST(FirstBeat, AnExtraReportTakesNothingFromTheBeatThatComesNext) {
  const FirstBeat beat = Beats{}.report(0, 5).report(60, 6).report(120, 7).report(150, 8).beat();
  ASSERT_TRUE(beat.next);
  EXPECT_EQ(*beat.next, at(180));
  ASSERT_TRUE(beat.off_beat);
  EXPECT_EQ(*beat.off_beat, Duration::seconds(-30));
}

TEST(FirstBeat, ANodeWithoutACounterHasABeatToo) {
  const Beats beats =
      Beats{}.report(0).report(60).report(120).report(140).provoked(138).report(180);
  EXPECT_DOUBLE_EQ(beats.interval_s(), 60);
  EXPECT_EQ(beats.extras(), "...x.");
}

}  // namespace
}  // namespace fieldfare::judge
