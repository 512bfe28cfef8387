// SPDX-License-Identifier: Apache-2.0
//
// Desks made by hand (invented), and what must be told of them.
#include "fieldfare/judge/first_day.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

namespace fieldfare::judge {
namespace {

Instant at(double s) { return Instant{} + Duration::seconds(s); }

constexpr const char* kFirst = "0200000000005CE7";
constexpr const char* kSecond = "020000000000A1B2";
constexpr const char* kThird = "0200000000003344";

/// A desk as it is told: who reported when, who said what.
class DayOf {
 public:
  DayOf& report(const std::string& address, double at_s, std::uint64_t sequence,
                double rssi_dbm = -50) {
    FirstReport report;
    report.at = at(at_s);
    report.sequence = sequence;
    report.rssi_dbm = rssi_dbm;
    report.readings = {{"temperature_c", 21.4 + 0.01 * static_cast<double>(sequence % 7)}};
    node(address).reports.push_back(report);
    return *this;
  }
  DayOf& beats(const std::string& address, double from_s, double interval_s, int count,
               std::uint64_t sequence = 100, double rssi_dbm = -50) {
    for (int i = 0; i < count; ++i) {
      report(address, from_s + interval_s * i, sequence + static_cast<std::uint64_t>(i), rssi_dbm);
    }
    return *this;
  }
  DayOf& label(const std::string& digits) {
    day_.labels.push_back(digits);
    return *this;
  }
  DayOf& provoke(const std::string& digits, double at_s) {
    day_.provocations.push_back({digits, at(at_s)});
    return *this;
  }
  DayOf& reading(const std::string& address, const std::string& name, double value) {
    auto& readings = node(address).reports.back().readings;
    std::erase_if(readings, [&](const NamedValue& reading) { return reading.name == name; });
    readings.push_back({name, value});
    return *this;
  }
  DayOf& network(const std::string& address, double value) {
    return reading(address, "network", value);
  }
  FirstNode& node(const std::string& address) {
    for (FirstNode& known : day_.nodes) {
      if (known.address == address) return known;
    }
    day_.nodes.push_back({address, {}, {}});
    return day_.nodes.back();
  }
  FirstDay& day() { return day_; }

  FirstVerdict at_s(double now_s, const std::string& who) {
    for (FirstVerdict& verdict : judge_first_day(day_, at(now_s))) {
      if (verdict.address == who || (verdict.address.empty() && verdict.digits == who)) {
        return std::move(verdict);
      }
    }
    ADD_FAILURE() << "no verdict of " << who;
    return {};
  }

 private:
  FirstDay day_;
};

/// The outcome and the reason of a claim; empty where it wasn't judged.
std::string told(const FirstVerdict& verdict, Claim claim) {
  for (const Verdict& each : verdict.verdicts) {
    if (each.claim != claim) continue;
    const char* outcome = each.outcome == Outcome::met    ? "met"
                          : each.outcome == Outcome::open ? "open"
                                                          : "failed";
    return std::string{outcome} + ": " + each.why;
  }
  return {};
}

bool begins(const std::string& text, const std::string& beginning) {
  return text.starts_with(beginning);
}

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

// Identity

TEST(FirstDay, ANodeThatWasOnlyHeardIsAskedForItsLabel) {
  const FirstVerdict verdict = DayOf{}.beats(kFirst, 0, 60, 5).at_s(250, kFirst);
  EXPECT_TRUE(begins(told(verdict, Claim::identity), "open"));
  EXPECT_EQ(verdict.headline, "type its label");
  EXPECT_FALSE(verdict.works);
}

TEST(FirstDay, ALabelThatFitsIsNoProofUntilTheNodeIsProvoked) {
  const FirstVerdict verdict = DayOf{}.beats(kFirst, 0, 60, 5).label("5CE7").at_s(250, kFirst);
  EXPECT_TRUE(begins(told(verdict, Claim::identity), "open"));
  EXPECT_EQ(verdict.digits, "5CE7");
  EXPECT_EQ(verdict.headline, "provoke it");
}

TEST(FirstDay, ARestartWhenItWasProvokedProvesWhoItIs) {
  const FirstVerdict verdict = DayOf{}
                                   .beats(kFirst, 0, 60, 5)
                                   .label("5CE7")
                                   .provoke("5CE7", 300)
                                   .report(kFirst, 303, 0)
                                   .report(kFirst, 363, 1)
                                   .at_s(370, kFirst);
  EXPECT_TRUE(begins(told(verdict, Claim::identity), "met")) << told(verdict, Claim::identity);
  EXPECT_TRUE(verdict.works) << verdict.headline;
  EXPECT_EQ(verdict.headline, "works");
}

TEST(FirstDay, AReportAheadOfItsBeatProvesWhoItIs) {
  EXPECT_TRUE(begins(told(DayOf{}
                              .beats(kFirst, 0, 60, 5)
                              .provoke("5CE7", 268)
                              .report(kFirst, 270, 105)
                              .at_s(280, kFirst),
                          Claim::identity),
                     "met"));
}

TEST(FirstDay, AnOrdinaryBeatAtTheMomentOfProvokingProvesNothing) {
  DayOf day = DayOf{}.beats(kFirst, 0, 60, 5).provoke("5CE7", 298).report(kFirst, 300, 105);
  EXPECT_EQ(day.at_s(310, kFirst).headline, "waiting");
  const FirstVerdict verdict = day.at_s(500, kFirst);
  EXPECT_TRUE(begins(told(verdict, Claim::identity), "open"));
  EXPECT_TRUE(has(told(verdict, Claim::identity), "ordinary beat"));
  EXPECT_EQ(verdict.headline, "provoke again");
}

TEST(FirstDay, TheFirstReportOfAnAddressProvesWhoItIsWhenItWasProvoked) {
  EXPECT_TRUE(begins(told(DayOf{}.provoke("5CE7", 100).report(kFirst, 104, 977).at_s(110, kFirst),
                          Claim::identity),
                     "met"));
}

TEST(FirstDay, TheWindowOfAProvokedReportHasTwoEnds) {
  const auto identity = [](double report_s) {
    return told(DayOf{}.provoke("5CE7", 100).report(kFirst, report_s, 1).at_s(300, kFirst),
                Claim::identity);
  };
  EXPECT_TRUE(begins(identity(69.9), "open"));
  EXPECT_TRUE(begins(identity(70), "met"));
  EXPECT_TRUE(begins(identity(220), "met"));
  EXPECT_TRUE(begins(identity(220.1), "open"));
}

TEST(FirstDay, AReportAnswersOneProvocationOnly) {
  DayOf day = DayOf{}
                  .beats(kFirst, 0, 600, 3)
                  .provoke("5CE7", 1500)
                  .provoke("5CE7", 1530)
                  .report(kFirst, 1533, 0);
  const auto outcomes = match_provocations(day.day(), at(1540));
  ASSERT_EQ(outcomes.size(), 2U);
  EXPECT_FALSE(outcomes[0].node);
  ASSERT_TRUE(outcomes[1].node);
  EXPECT_EQ(*outcomes[1].node, 0U);
  EXPECT_EQ(outcomes[1].at, at(1533));
}

TEST(FirstDay, TwoPeopleWhoProvokeAtTheSameTimeEachGetTheirOwn) {
  DayOf day = DayOf{}
                  .beats(kFirst, 0, 600, 3)
                  .beats(kSecond, 7, 600, 3)
                  .provoke("5CE7", 1500)
                  .provoke("A1B2", 1502)
                  .report(kSecond, 1503, 0)
                  .report(kFirst, 1504, 0);
  EXPECT_TRUE(begins(told(day.at_s(1510, kFirst), Claim::identity), "met"));
  EXPECT_TRUE(begins(told(day.at_s(1510, kSecond), Claim::identity), "met"));
}

TEST(FirstDay, ANodeThatSpeaksOnlyWhenItIsProvokedIsKnownByTheSecondTime) {
  DayOf day = DayOf{}.report(kFirst, 0, 7).provoke("5CE7", 400).report(kFirst, 403, 8);
  EXPECT_TRUE(begins(told(day.at_s(530, kFirst), Claim::identity), "open"));
  day.provoke("5CE7", 560).report(kFirst, 562, 9);
  EXPECT_TRUE(begins(told(day.at_s(570, kFirst), Claim::identity), "met"));
}

TEST(FirstDay, ReportsAtEvenTimesMayBeABeatThoughEachWasProvoked) {
  EXPECT_TRUE(begins(told(DayOf{}
                              .report(kFirst, 0, 7)
                              .provoke("5CE7", 398)
                              .report(kFirst, 400, 8)
                              .provoke("5CE7", 798)
                              .report(kFirst, 800, 9)
                              .at_s(1000, kFirst),
                          Claim::identity),
                     "open"));
}

TEST(FirstDay, AFirstReportIsDoubtfulWhileAnotherNodeBeginsAnew) {
  DayOf day = DayOf{}
                  .beats(kSecond, 0, 40, 3)
                  .provoke("5CE7", 100)
                  .report(kSecond, 103, 0)
                  .report(kFirst, 150, 977);
  EXPECT_TRUE(begins(told(day.at_s(230, kFirst), Claim::identity), "open"));
  // It is nobody's restart but its own.
  day.provoke("A1B2", 101);
  EXPECT_TRUE(begins(told(day.at_s(230, kFirst), Claim::identity), "met"));
}

TEST(FirstDay, NoLabelIsWrongWhoseOwnNodeMayHaveAnswered) {
  EXPECT_FALSE(DayOf{}
                   .beats(kSecond, 0, 60, 4)
                   .report(kFirst, 50, 977)
                   .provoke("5CE7", 200)
                   .report(kSecond, 203, 0)
                   .report(kFirst, 205, 978)
                   .at_s(400, kFirst)
                   .failed);
}

TEST(FirstDay, ALabelOfWhichNothingWasHeardHasAVerdictOfItsOwn) {
  const FirstVerdict verdict = DayOf{}.beats(kSecond, 0, 60, 3).label("5CE7").at_s(130, "5CE7");
  EXPECT_EQ(verdict.headline, "not heard");
  EXPECT_FALSE(verdict.failed);
  EXPECT_TRUE(has(verdict.next, "with p"));
}

TEST(FirstDay, ANodeIsMuteAfterThreeProvocationsAndNotAfterTwo) {
  DayOf day = DayOf{}.beats(kSecond, 0, 60, 12).provoke("5CE7", 100).provoke("5CE7", 250);
  EXPECT_FALSE(day.at_s(600, "5CE7").failed);
  day.provoke("5CE7", 400);
  EXPECT_FALSE(day.at_s(519, "5CE7").failed);
  const FirstVerdict verdict = day.at_s(520, "5CE7");
  EXPECT_TRUE(verdict.failed);
  EXPECT_EQ(verdict.headline, "not heard");
  EXPECT_TRUE(begins(told(verdict, Claim::identity), "failed: mute: it did not answer 3 prov"));
}

TEST(FirstDay, AKeyPressedTwiceIsNotTwoProvocations) {
  DayOf day = DayOf{}
                  .beats(kSecond, 0, 60, 12)
                  .provoke("5CE7", 100)
                  .provoke("5CE7", 101)
                  .provoke("5CE7", 102);
  EXPECT_FALSE(day.at_s(600, "5CE7").failed);
}

TEST(FirstDay, ADeafReceiverIsChargedToNoNode) {
  DayOf day = DayOf{}.provoke("5CE7", 100).provoke("5CE7", 250).provoke("5CE7", 400);
  const FirstVerdict verdict = day.at_s(600, "5CE7");
  EXPECT_FALSE(verdict.failed);
  EXPECT_TRUE(has(verdict.next, "receiver first")) << verdict.next;
}

TEST(FirstDay, ANodeThatFellSilentIsMuteThoughItWasHeardBefore) {
  DayOf day = DayOf{}
                  .beats(kFirst, 0, 60, 3)
                  .beats(kSecond, 0, 60, 12)
                  .provoke("5CE7", 200)
                  .provoke("5CE7", 330)
                  .provoke("5CE7", 460);
  EXPECT_TRUE(begins(told(day.at_s(600, kFirst), Claim::identity), "failed: mute"));
}

TEST(FirstDay, ASwappedLabelIsToldOnceItsTimeIsOver) {
  DayOf day =
      DayOf{}.beats(kSecond, 0, 60, 4).label("5CE7").provoke("5CE7", 200).report(kSecond, 203, 0);
  EXPECT_FALSE(day.at_s(210, "5CE7").failed);
  EXPECT_EQ(day.at_s(210, "5CE7").headline, "wrong label?");
  const FirstVerdict verdict = day.at_s(320, "5CE7");
  EXPECT_TRUE(verdict.failed);
  EXPECT_EQ(verdict.headline, "wrong label");
  EXPECT_EQ(told(verdict, Claim::identity), "failed: the case labelled ..5CE7 speaks as ..A1B2");
  EXPECT_TRUE(day.at_s(320, kSecond).failed);
}

TEST(FirstDay, ASwappedLabelIsToldAtOnceTheSecondTime) {
  const FirstVerdict verdict = DayOf{}
                                   .beats(kSecond, 0, 60, 4)
                                   .provoke("5CE7", 200)
                                   .report(kSecond, 203, 0)
                                   .provoke("5CE7", 250)
                                   .report(kSecond, 252, 0)
                                   .at_s(253, "5CE7");
  EXPECT_EQ(verdict.headline, "wrong label");
}

TEST(FirstDay, TwoLabelsThatWereSwappedAreBothTold) {
  DayOf day = DayOf{}
                  .beats(kFirst, 0, 60, 10)
                  .beats(kSecond, 20, 60, 4)
                  .label("5CE7")
                  .label("A1B2")
                  .provoke("5CE7", 230)
                  .report(kSecond, 233, 0)
                  .report(kSecond, 293, 1)
                  .report(kSecond, 353, 2)
                  .provoke("A1B2", 590)
                  .report(kFirst, 593, 0);
  EXPECT_EQ(told(day.at_s(800, kFirst), Claim::identity),
            "failed: the case labelled ..A1B2 speaks as ..5CE7");
  EXPECT_EQ(told(day.at_s(800, kSecond), Claim::identity),
            "failed: the case labelled ..5CE7 speaks as ..A1B2");
}

TEST(FirstDay, ANodeThatAnsweredToItsOwnLabelIsNotTakenForAnother) {
  DayOf day = DayOf{}
                  .beats(kSecond, 0, 60, 4)
                  .provoke("5CE7", 200)
                  .provoke("A1B2", 205)
                  .report(kSecond, 207, 0);
  EXPECT_FALSE(day.at_s(400, "5CE7").failed);
  EXPECT_TRUE(begins(told(day.at_s(400, kSecond), Claim::identity), "met"));
}

TEST(FirstDay, ANodeThatIsKnownAnswersNoOtherLabelWhateverItDoesLater) {
  DayOf day = DayOf{}
                  .beats(kSecond, 0, 60, 3)
                  .provoke("A1B2", 150)
                  .report(kSecond, 152, 0)
                  .beats(kSecond, 212, 60, 4, 1)
                  .provoke("5CE7", 400)
                  .report(kSecond, 403, 0);
  EXPECT_FALSE(day.at_s(600, "5CE7").failed);
  EXPECT_TRUE(begins(told(day.at_s(600, kSecond), Claim::identity), "met"));
}

TEST(FirstDay, ALostAnswerThatShowsAtTheNextBeatIsNoAnswerToAnotherLabel) {
  DayOf day = DayOf{}
                  .beats(kSecond, 0, 200, 5)
                  .provoke("A1B2", 850)
                  .provoke("5CE7", 980)
                  .report(kSecond, 1050, 1);
  EXPECT_FALSE(day.at_s(1200, "5CE7").failed);
}

TEST(FirstDay, ANodeThatRestartsByItselfAnswersNobody) {
  DayOf day = DayOf{};
  for (int i = 0; i < 40; ++i) day.report(kSecond, 20.0 * i, static_cast<std::uint64_t>(i % 2));
  day.provoke("5CE7", 300);
  EXPECT_FALSE(day.at_s(790, "5CE7").failed);
  EXPECT_EQ(day.at_s(790, kSecond).headline, "restarts by itself");
}

TEST(FirstDay, DigitsThatFitSeveralNodesAreToldUntilOneAnswers) {
  DayOf day =
      DayOf{}.beats("02000000000011E7", 0, 60, 4).beats("02000000000022E7", 10, 60, 4).label("E7");
  EXPECT_EQ(day.at_s(200, "02000000000011E7").headline, "which one?");
  EXPECT_EQ(day.at_s(200, "02000000000022E7").headline, "which one?");
  day.provoke("E7", 200).report("02000000000022E7", 203, 0);
  EXPECT_TRUE(begins(told(day.at_s(210, "02000000000022E7"), Claim::identity), "met"));
}

TEST(FirstDay, DigitsAreSoughtAtTheEndInAnyCase) {
  DayOf day = DayOf{}.report(kFirst, 0, 1).report(kSecond, 0, 1).report("5CE7", 0, 1);
  EXPECT_EQ(nodes_ending_in(day.day().nodes, "5ce7"), (std::vector<std::size_t>{0, 2}));
  EXPECT_EQ(nodes_ending_in(day.day().nodes, "5CE"), std::vector<std::size_t>{});
  EXPECT_EQ(nodes_ending_in(day.day().nodes, ""), std::vector<std::size_t>{});
}

TEST(FirstDay, AWholeLabelFindsANodeThatSendsOnlyTheEndOfIt) {
  DayOf day = DayOf{}.report("5CE7", 0, 1).report("E7", 0, 1);
  EXPECT_EQ(nodes_ending_in(day.day().nodes, "0200000000005CE7"), (std::vector<std::size_t>{0}));
}

// Counter

TEST(FirstDay, ACounterIsProvenByItsSecondNumber) {
  EXPECT_TRUE(
      begins(told(DayOf{}.beats(kFirst, 0, 60, 1).at_s(10, kFirst), Claim::counter), "open"));
  EXPECT_TRUE(
      begins(told(DayOf{}.beats(kFirst, 0, 60, 2).at_s(70, kFirst), Claim::counter), "met"));
}

TEST(FirstDay, MissedNumbersAreNamed) {
  const std::string counter =
      told(DayOf{}.beats(kFirst, 0, 60, 3, 10).report(kFirst, 300, 15).at_s(310, kFirst),
           Claim::counter);
  EXPECT_TRUE(has(counter, "2 missed: 13, 14")) << counter;
}

TEST(FirstDay, ACounterThatStandsStillFails) {
  DayOf day = DayOf{}.report(kFirst, 0, 17).report(kFirst, 60, 17);
  EXPECT_FALSE(day.at_s(70, kFirst).failed);
  day.report(kFirst, 120, 17);
  EXPECT_EQ(told(day.at_s(130, kFirst), Claim::counter), "failed: its counter stands still at 17");
}

TEST(FirstDay, RestartsThatWereProvokedSpeakAgainstNoCounter) {
  DayOf day = DayOf{};
  for (int i = 0; i < 5; ++i) {
    day.provoke("5CE7", 100.0 * i + 100).report(kFirst, 100.0 * i + 102, 0);
  }
  EXPECT_FALSE(day.at_s(510, kFirst).failed);
  EXPECT_TRUE(begins(told(day.at_s(510, kFirst), Claim::counter), "open"));
}

TEST(FirstDay, ANodeWithoutACounterIsNotJudgedByOne) {
  DayOf day = DayOf{}.beats(kFirst, 0, 60, 4);
  for (FirstReport& report : day.node(kFirst).reports) report.sequence.reset();
  EXPECT_EQ(told(day.at_s(200, kFirst), Claim::counter), "");
  EXPECT_EQ(told(day.at_s(200, kFirst), Claim::delivery), "");
}

// Reading

TEST(FirstDay, AReadingOutsideItsSheetFailsAndOneInsideIsMet) {
  DayOf day = DayOf{}.beats(kFirst, 0, 60, 1);
  fleet::FieldFacts facts;
  facts.name = "temperature_c";
  facts.plausible = fleet::Range{-40, 85};
  day.node(kFirst).terms.fields = {facts};
  EXPECT_TRUE(begins(told(day.at_s(10, kFirst), Claim::reading), "met"));
  day.reading(kFirst, "temperature_c", 85.5);
  EXPECT_TRUE(begins(told(day.at_s(10, kFirst), Claim::reading), "failed"));
}

TEST(FirstDay, AReadingThatCannotBeInItsUnitFailsWithoutASheet) {
  // Nothing is colder than -273.15 C (exact, by the definition of the unit).
  EXPECT_TRUE(begins(told(DayOf{}
                              .beats(kFirst, 0, 60, 1)
                              .reading(kFirst, "temperature_c", -327.68)
                              .at_s(10, kFirst),
                          Claim::reading),
                     "failed"));
}

TEST(FirstDay, OneWildReadingOfThreeIsNotAFault) {
  DayOf day = DayOf{}.beats(kFirst, 0, 60, 2).report(kFirst, 120, 102);
  day.reading(kFirst, "temperature_c", -400);
  EXPECT_TRUE(begins(told(day.at_s(130, kFirst), Claim::reading), "open"));
  day.beats(kFirst, 180, 60, 3, 103);
  EXPECT_TRUE(begins(told(day.at_s(310, kFirst), Claim::reading), "met"));
}

TEST(FirstDay, AThermometerThatIsNotThereIsFoundOutAtItsThirdReport) {
  DayOf day = DayOf{};
  for (int i = 0; i < 3; ++i) {
    day.beats(kFirst, 60.0 * i, 60, 1, 100U + static_cast<unsigned>(i))
        .reading(kFirst, "temperature_c", -127);
    const std::string reading = told(day.at_s(60.0 * i + 1, kFirst), Claim::reading);
    EXPECT_TRUE(begins(reading, i < 2 ? "open" : "failed")) << reading;
  }
}

TEST(FirstDay, AContactMayStandAtZeroForEver) {
  DayOf day = DayOf{};
  for (int i = 0; i < 5; ++i) {
    day.beats(kFirst, 60.0 * i, 60, 1, 100U + static_cast<unsigned>(i))
        .reading(kFirst, "opened_count", 0);
  }
  EXPECT_TRUE(begins(told(day.at_s(300, kFirst), Claim::reading), "met"));
}

TEST(FirstDay, ASteadyRoomIsNoStuckThermometer) {
  DayOf day = DayOf{};
  for (int i = 0; i < 5; ++i) {
    day.beats(kFirst, 60.0 * i, 60, 1, 100U + static_cast<unsigned>(i))
        .reading(kFirst, "temperature_c", 25.5);
  }
  EXPECT_TRUE(begins(told(day.at_s(300, kFirst), Claim::reading), "met"));
}

TEST(FirstDay, WhatIsNotDecodedIsNotJudgedAndSaidSo) {
  DayOf day = DayOf{}.provoke("5CE7", 0).beats(kFirst, 1, 60, 3, 0);
  for (FirstReport& report : day.node(kFirst).reports) report.readings.clear();
  const FirstVerdict verdict = day.at_s(200, kFirst);
  EXPECT_EQ(told(verdict, Claim::reading), "");
  EXPECT_TRUE(verdict.works);
  EXPECT_TRUE(has(verdict.next, "not decoded"));
}

// Margin

struct LevelRow {
  double rssi_dbm;
  std::optional<double> sensitivity_dbm;
  std::optional<double> overload_dbm;
  const char* outcome;
  const char* headline;
};

TEST(FirstDay, LevelsAreHeldAgainstTheReceiverAndTheDesk) {
  // -20 dBm and -90 dBm where nothing is known: common practice. 10 dB above
  // sensitivity are wanted, 3 dB below the maximum input.
  const std::vector<LevelRow> rows = {
      {-50, {}, {}, "met", ""},
      {-20, {}, {}, "met", ""},
      {-19, {}, {}, "failed", "too close"},
      {-19, {}, -10, "met", ""},
      {-13, {}, -10, "met", ""},
      {-12, {}, -10, "failed", "too close"},
      {-90, {}, {}, "met", ""},
      {-91, {}, {}, "failed", "too weak"},
      {-91, -137, {}, "open", "weak for a desk"},
      {-94.5, -104, {}, "failed", "too weak"},
      {-85, -92, {}, "failed", "too weak"},
      {-82, -92, {}, "met", ""},
  };
  for (const LevelRow& row : rows) {
    DayOf day = DayOf{}.provoke("5CE7", 0).beats(kFirst, 1, 60, 3, 0, row.rssi_dbm);
    day.node(kFirst).terms.sensitivity_dbm = row.sensitivity_dbm;
    day.node(kFirst).terms.overload_dbm = row.overload_dbm;
    const FirstVerdict verdict = day.at_s(200, kFirst);
    EXPECT_TRUE(begins(told(verdict, Claim::margin), row.outcome))
        << row.rssi_dbm << ' ' << told(verdict, Claim::margin);
    EXPECT_EQ(verdict.headline, *row.headline == 0 ? "works" : row.headline) << row.rssi_dbm;
  }
}

TEST(FirstDay, ANodeThatWasMovedAwayIsClearedByTwoReports) {
  DayOf day = DayOf{}.beats(kFirst, 0, 60, 5, 0, -5).beats(kFirst, 300, 60, 2, 5, -45);
  EXPECT_TRUE(begins(told(day.at_s(400, kFirst), Claim::margin), "met"));
}

TEST(FirstDay, LossesAtTooStrongALevelAreNamedWithIt) {
  const FirstVerdict verdict =
      DayOf{}.beats(kFirst, 0, 60, 2, 0, -5).report(kFirst, 240, 4, -5).at_s(250, kFirst);
  EXPECT_TRUE(has(told(verdict, Claim::margin), "2 reports have been lost"));
  EXPECT_TRUE(has(verdict.next, "3 m away"));
  EXPECT_TRUE(has(verdict.next, "leave its antenna on"));
}

// Settings

TEST(FirstDay, ANodeOfAnotherNetworkThanMostIsTold) {
  DayOf day = DayOf{};
  for (const char* address : {kFirst, kSecond, kThird}) {
    day.beats(address, 0, 60, 1).network(address, address == kThird ? 0x4D22 : 0x4D21);
  }
  EXPECT_TRUE(begins(told(day.at_s(10, kFirst), Claim::settings), "met"));
  const FirstVerdict verdict = day.at_s(10, kThird);
  EXPECT_EQ(verdict.headline, "other network");
  EXPECT_TRUE(has(told(verdict, Claim::settings), "4D22"));
  EXPECT_TRUE(has(told(verdict, Claim::settings), "4D21"));
}

TEST(FirstDay, TheSitesNetworkStandsOverWhatMostHave) {
  DayOf day = DayOf{};
  for (const char* address : {kFirst, kSecond, kThird}) {
    day.beats(address, 0, 60, 1).network(address, address == kThird ? 0x4D22 : 0x4D21);
  }
  day.day().network = 0x4D22;
  EXPECT_EQ(day.at_s(10, kFirst).headline, "other network");
  EXPECT_TRUE(begins(told(day.at_s(10, kThird), Claim::settings), "met"));
}

TEST(FirstDay, OneAgainstOneIsNoMajority) {
  DayOf day = DayOf{}.beats(kFirst, 0, 60, 1).network(kFirst, 1);
  day.beats(kSecond, 0, 60, 1).network(kSecond, 2);
  EXPECT_EQ(told(day.at_s(10, kFirst), Claim::settings), "");
}

// Delivery

TEST(FirstDay, DeliveryCanBeMetWhenWaldsTestSaysSo) {
  // A. Wald, Sequential Analysis (1947): without a loss the log likelihood ratio falls
  // by ln((1 - bad) / (1 - good)) a report and has to reach ln(beta / (1 - alpha)).
  // Single losses: a share of 0.97 heard is a rate of 0.03 / 0.97 from heard to lost.
  const double each = std::log((1 - 0.10 / 0.90) / (1 - 0.03 / 0.97));
  const double needed = std::ceil(std::log(0.05 / 0.95) / each);
  const int beats = 5;
  const double left = needed - (beats - 1);
  const FirstVerdict verdict = DayOf{}.beats(kFirst, 0, 60, beats).at_s(245, kFirst);
  EXPECT_TRUE(begins(told(verdict, Claim::delivery), "open"));
  ASSERT_TRUE(verdict.delivery_at);
  EXPECT_EQ(*verdict.delivery_at, at(240 + 60 * left));
  const int enough = static_cast<int>(needed) + 1;
  DayOf longer = DayOf{}.beats(kFirst, 0, 60, enough - 1);
  EXPECT_TRUE(begins(told(longer.at_s(60.0 * enough, kFirst), Claim::delivery), "open"));
  longer.beats(kFirst, 60.0 * (enough - 1), 60, 1, 100U + static_cast<unsigned>(enough) - 1);
  EXPECT_TRUE(begins(told(longer.at_s(60.0 * enough, kFirst), Claim::delivery), "met"));
}

TEST(FirstDay, BeatsThatPassInSilencePutDeliveryOff) {
  DayOf day = DayOf{}.beats(kFirst, 0, 60, 5);
  const auto soon = day.at_s(245, kFirst).delivery_at;
  const auto later = day.at_s(845, kFirst).delivery_at;
  ASSERT_TRUE(soon && later);
  EXPECT_EQ(*later - *soon, Duration::seconds(600));
}

TEST(FirstDay, ALossPutsDeliveryOff) {
  const auto without = DayOf{}.beats(kFirst, 0, 60, 6).at_s(305, kFirst).delivery_at;
  const auto with = DayOf{}.beats(kFirst, 0, 60, 4).report(kFirst, 300, 105).at_s(305, kFirst);
  ASSERT_TRUE(without && with.delivery_at);
  EXPECT_GT(*with.delivery_at, *without);
}

TEST(FirstDay, WithoutAnIntervalNoMomentIsPromised) {
  const FirstVerdict verdict = DayOf{}.report(kFirst, 0, 5).at_s(10, kFirst);
  EXPECT_FALSE(verdict.delivery_at);
  EXPECT_TRUE(has(told(verdict, Claim::delivery), "two more beats tell the interval"));
}

}  // namespace
}  // namespace fieldfare::judge
