// SPDX-License-Identifier: Apache-2.0
//
// What a desk keeps and tells; all invented.
#include "fieldfare/work/desk.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

namespace fieldfare::work {
namespace {

constexpr const char* kNode = "0200000000005CE7";
constexpr const char* kOther = "020000000000A1B2";

Instant at(double s) { return Instant{} + Duration::seconds(s); }

judge::FirstReport report(double at_s, std::optional<std::uint64_t> sequence,
                          double rssi_dbm = -50) {
  judge::FirstReport report;
  report.at = at(at_s);
  report.sequence = sequence;
  report.rssi_dbm = rssi_dbm;
  report.readings = {{"temperature_c", 21.5}, {"network", 0x4D21}};
  return report;
}

Desk desk_with_beats(int count, double interval_s = 60) {
  Desk desk{at(0)};
  for (int i = 0; i < count; ++i) {
    desk.heard(kNode, report(interval_s * i, 100U + static_cast<unsigned>(i)));
  }
  return desk;
}

const DeskRow& row_of(const DeskView& view, const std::string& key) {
  for (const DeskRow& row : view.rows) {
    if (row.key == key) return row;
  }
  ADD_FAILURE() << "no row " << key;
  static const DeskRow none;
  return none;
}

std::vector<std::string> keys(const DeskView& view) {
  std::vector<std::string> keys;
  keys.reserve(view.rows.size());
  for (const DeskRow& row : view.rows) keys.push_back(row.key);
  return keys;
}

bool has(const std::vector<std::string>& texts, const std::string& part) {
  return std::any_of(texts.begin(), texts.end(),
                     [&](const std::string& text) { return text.find(part) != std::string::npos; });
}

// What was heard

TEST(Desk, TheSameReportFromASecondReceiverIsOneAndTheBetterHeardIsShown) {
  Desk desk{at(0)};
  desk.heard(kNode, report(10, 7, -80));
  desk.heard(kNode, report(11, 7, -50));
  desk.heard(kNode, report(12, 7, -70));
  const DeskView view = desk.view(at(20));
  const DeskRow& row = row_of(view, kNode);
  EXPECT_EQ(row.reports, 1U);
  EXPECT_EQ(row.rssi_dbm, -50);
  EXPECT_EQ(row.newest, at(10));
}

TEST(Desk, TheSameNumberLaterIsAnotherReport) {
  Desk desk{at(0)};
  desk.heard(kNode, report(10, 7));
  desk.heard(kNode, report(20, 7));
  const DeskView view = desk.view(at(30));
  EXPECT_EQ(row_of(view, kNode).reports, 2U);
  EXPECT_EQ(row_of(view, kNode).step, 0);
}

TEST(Desk, ReportsThatArriveOutOfOrderAreKeptByTime) {
  Desk desk{at(0)};
  for (const int i : {3, 0, 2, 1})
    desk.heard(kNode, report(60.0 * i, 100U + static_cast<unsigned>(i)));
  const auto& reports = desk.day().nodes.front().reports;
  EXPECT_TRUE(std::is_sorted(reports.begin(), reports.end(),
                             [](const auto& a, const auto& b) { return a.at < b.at; }));
  EXPECT_EQ(desk.view(at(200)).rows.front().counter, 103U);
}

TEST(Desk, OnlyTheNewestReportsAreKeptAndAllAreCounted) {
  const Desk desk = desk_with_beats(600);
  EXPECT_EQ(desk.day().nodes.front().reports.size(), judge::kMostFirstReports);
  EXPECT_EQ(desk.day().nodes.front().reports.front().at, at(60.0 * (600 - 512)));
  EXPECT_EQ(desk.view(at(40000)).rows.front().reports, 600U);
}

TEST(Desk, ARowShowsItsBeatItsStepAndItsReadingsWithoutTheNetwork) {
  const DeskView view = desk_with_beats(5).view(at(250));
  const DeskRow& row = row_of(view, kNode);
  ASSERT_TRUE(row.interval);
  EXPECT_EQ(*row.interval, Duration::seconds(60));
  EXPECT_EQ(row.off_beat, Duration{});
  EXPECT_EQ(row.next_beat, at(300));
  EXPECT_EQ(row.step, 1);
  ASSERT_EQ(row.readings.size(), 1U);
  EXPECT_EQ(row.readings[0].name, "temperature_c");
}

TEST(Desk, ForgettingWhatWasHeardKeepsWhatWasSaid) {
  Desk desk = desk_with_beats(3);
  desk.label("5CE7");
  desk.provoke("5CE7", at(150));
  desk.name(kNode, "cellar");
  desk.forget_heard();
  EXPECT_EQ(keys(desk.view(at(200))), (std::vector<std::string>{"label 5CE7"}));
  desk.heard(kNode, report(152, 0));
  const DeskView view = desk.view(at(200));
  EXPECT_EQ(keys(view), (std::vector<std::string>{kNode}));
  EXPECT_EQ(view.rows[0].name, "cellar");
  EXPECT_EQ(view.rows[0].verdict.verdicts.front().outcome, judge::Outcome::met);
}

// What was said

TEST(Desk, LabelsAreTakenInAnyWriting) {
  Desk desk{at(0)};
  EXPECT_TRUE(desk.label("5c:e7"));
  EXPECT_TRUE(desk.label("5CE7"));
  EXPECT_TRUE(desk.label("02-00 00.00"));
  EXPECT_EQ(desk.day().labels, (std::vector<std::string>{"5CE7", "02000000"}));
  for (const char* none : {"", "-", "5CG7", "p", "12345678901234567"}) {
    EXPECT_FALSE(desk.label(none)) << none;
    EXPECT_FALSE(desk.provoke(none, at(1))) << none;
  }
}

TEST(Desk, ARowKeepsItsKeyFromBeforeItWasHeard) {
  Desk desk{at(0)};
  desk.label("5CE7");
  desk.name("label 5CE7", "cellar");
  EXPECT_EQ(keys(desk.view(at(1))), (std::vector<std::string>{"label 5CE7"}));
  desk.heard(kNode, report(2, 7));
  const DeskView view = desk.view(at(3));
  EXPECT_EQ(keys(view), (std::vector<std::string>{"label 5CE7"}));
  EXPECT_EQ(view.rows[0].address, kNode);
  EXPECT_EQ(view.rows[0].name, "cellar");
}

TEST(Desk, ARowThatWasHeardBeforeItsLabelWasTypedIsKeyedByItsAddress) {
  Desk desk = desk_with_beats(1);
  desk.label("5CE7");
  desk.note(kNode, "by the door");
  const DeskView view = desk.view(at(3));
  EXPECT_EQ(keys(view), (std::vector<std::string>{kNode}));
  EXPECT_EQ(view.rows[0].digits, "5CE7");
  EXPECT_EQ(view.rows[0].note, "by the door");
}

TEST(Desk, RowsStandInTheOrderInWhichTheyCameUp) {
  Desk desk{at(0)};
  desk.heard(kOther, report(1, 7));
  desk.label("77C3");
  desk.heard(kNode, report(2, 7));
  desk.label("A1B2");
  EXPECT_EQ(keys(desk.view(at(3))), (std::vector<std::string>{kOther, "label 77C3", kNode}));
}

TEST(Desk, DigitsThatFitTwoNodesAreShownWithBoth) {
  Desk desk{at(0)};
  desk.label("E7");
  desk.heard("02000000000011E7", report(1, 7));
  desk.heard("02000000000022E7", report(2, 7));
  const DeskView view = desk.view(at(3));
  ASSERT_EQ(view.rows.size(), 2U);
  for (const DeskRow& row : view.rows) {
    EXPECT_EQ(row.digits, "E7");
    EXPECT_EQ(row.verdict.headline, "which one?");
  }
  EXPECT_NE(view.rows[0].key, view.rows[1].key);
}

TEST(Desk, ANodeIsAwaitedUntilItAnswers) {
  Desk desk = desk_with_beats(5);
  desk.provoke("5CE7", at(250));
  desk.provoke("A1B2", at(250));
  EXPECT_TRUE(row_of(desk.view(at(251)), kNode).is_awaited);
  EXPECT_TRUE(row_of(desk.view(at(251)), "label A1B2").is_awaited);
  desk.heard(kNode, report(252, 0));
  EXPECT_FALSE(row_of(desk.view(at(253)), kNode).is_awaited);
  EXPECT_FALSE(row_of(desk.view(at(371)), "label A1B2").is_awaited);
}

TEST(Desk, AReminderIsToldOnceAndNotBeforeItIsDue) {
  Desk desk{at(0)};
  desk.remind({at(100), kNode, "look at its delivery"});
  EXPECT_TRUE(desk.take_due(at(99)).empty());
  EXPECT_EQ(desk.take_due(at(100)).size(), 1U);
  EXPECT_TRUE(desk.take_due(at(200)).empty());
}

TEST(Desk, TheSameReminderAgainIsMovedAndTheEarliestStandsFirst) {
  Desk desk{at(0)};
  desk.remind({at(300), kOther, "look"});
  desk.remind({at(100), kNode, "look"});
  desk.remind({at(400), kNode, "look"});
  const DeskView view = desk.view(at(1));
  ASSERT_EQ(view.reminders.size(), 2U);
  EXPECT_EQ(view.reminders[0].node, kOther);
  EXPECT_EQ(view.reminders[1].due, at(400));
}

// What comes from outside is bounded

TEST(Desk, WhatIsHeardAndSaidWithoutEndIsBounded) {
  Desk desk{at(0)};
  for (std::size_t i = 0; i < kMostNodes + 10; ++i) {
    desk.heard("node " + std::to_string(i), report(1, 7));
  }
  for (std::size_t i = 0; i < kMostLabels + 10; ++i) desk.label(std::to_string(i));
  for (std::size_t i = 0; i < kMostProvocations + 10; ++i) {
    desk.provoke("5CE", at(static_cast<double>(i)));
  }
  for (std::size_t i = 0; i < kMostReminders + 10; ++i) {
    desk.remind({at(1), std::to_string(i), "look"});
  }
  EXPECT_EQ(desk.day().nodes.size(), kMostNodes);
  EXPECT_EQ(desk.day().labels.size(), kMostLabels);
  EXPECT_LE(desk.day().provocations.size(), kMostProvocations);
  EXPECT_EQ(desk.view(at(2)).reminders.size(), kMostReminders);
}

TEST(Desk, NamesAreCutBetweenCharacters) {
  Desk desk{at(0)};
  std::string long_name(kLongestName - 1, 'a');
  desk.heard(kNode, report(1, 7));
  desk.name(kNode, long_name + "\xC3\xA4");
  EXPECT_EQ(desk.view(at(2)).rows[0].name, long_name);
  desk.heard(std::string(1000, 'b'), report(1, 7));
  EXPECT_EQ(desk.view(at(2)).rows[1].address.size(), kLongestName);
}

TEST(Desk, TimesFarFromTheDayAreLeftOut) {
  Desk desk{at(0)};
  desk.heard(kNode, report(-9e9, 7));
  desk.heard(kNode, report(9e9, 8));
  EXPECT_TRUE(desk.day().nodes.empty());
}

// What to check while nothing is heard

TEST(DeskAdvice, SilenceIsGivenTimeAndThenMoreIsToldTheLongerItLasts) {
  Desk desk{at(0)};
  desk.set_sources({{"r1", "/dev/ttyUSB0", "listening", "", true, 0, 0, 0}});
  EXPECT_TRUE(desk.view(at(29)).advice.empty());
  const auto soon = desk.view(at(30)).advice;
  EXPECT_TRUE(has(soon, "cells"));
  EXPECT_TRUE(has(soon, "1 to 3 m"));
  EXPECT_FALSE(has(soon, "baud"));
  const auto later = desk.view(at(120)).advice;
  EXPECT_TRUE(has(later, "driver"));
  EXPECT_GT(later.size(), soon.size());
  const auto last = desk.view(at(300)).advice;
  EXPECT_TRUE(has(last, "baud"));
  EXPECT_TRUE(has(last, "channel"));
  EXPECT_GT(last.size(), later.size());
}

TEST(DeskAdvice, AClosedPortIsToldAtOnceWithItsRemedyAndNothingElse) {
  Desk desk{at(0)};
  desk.set_sources(
      {{"r1", "/dev/ttyUSB0", "the port is gone", "plug it in again", false, 0, 0, 0}});
  const auto advice = desk.view(at(1)).advice;
  ASSERT_EQ(advice.size(), 1U);
  EXPECT_EQ(advice[0], "r1 (/dev/ttyUSB0): the port is gone; plug it in again");
  EXPECT_EQ(desk.view(at(600)).advice.size(), 1U);
}

TEST(DeskAdvice, BytesWithoutFramesPointToTheSpeedOfAPort) {
  Desk desk{at(0)};
  desk.set_sources({{"r1", "/dev/ttyUSB0", "listening", "", true, 2000, 0, 40}});
  EXPECT_TRUE(has(desk.view(at(1)).advice, "baud"));
  desk.set_sources({{"r1", "mqtt://broker", "listening", "", true, 2000, 0, 40}});
  EXPECT_FALSE(has(desk.view(at(1)).advice, "baud"));
}

TEST(DeskAdvice, FramesThatCannotBeReadYetAreBeingLearnt) {
  Desk desk{at(0)};
  desk.label("5CE7");
  desk.set_frames({DeskFrames::State::learning, "", ""});
  desk.set_sources({{"r1", "/dev/ttyUSB0", "listening", "", true, 2000, 50, 0}});
  EXPECT_TRUE(has(desk.view(at(1)).advice, "learning to read them goes on"));
  desk.heard(kNode, report(2, 7));
  EXPECT_TRUE(desk.view(at(3)).advice.empty());
}

TEST(DeskAdvice, ASheetThatDoesNotFitIsTold) {
  Desk desk{at(0)};
  desk.set_frames({DeskFrames::State::given, "", ""});
  desk.set_sources({{"r1", "/dev/ttyUSB0", "listening", "", true, 2000, 3, 50}});
  EXPECT_TRUE(has(desk.view(at(1)).advice, "50 of 53 frames can't be read"));
}

TEST(DeskAdvice, NodesThatSpeakEveryHourAreNotMissedAfterFiveMinutes) {
  Desk slow = desk_with_beats(3, 3600);
  slow.set_sources({{"r1", "/dev/ttyUSB0", "listening", "", true, 2000, 50, 0}});
  EXPECT_TRUE(slow.view(at(7200 + 3000)).advice.empty());
  Desk fast = desk_with_beats(3, 20);
  fast.set_sources({{"r1", "/dev/ttyUSB0", "listening", "", true, 2000, 50, 0}});
  EXPECT_TRUE(fast.view(at(40 + 299)).advice.empty());
  EXPECT_FALSE(fast.view(at(40 + 300)).advice.empty());
}

}  // namespace
}  // namespace fieldfare::work
