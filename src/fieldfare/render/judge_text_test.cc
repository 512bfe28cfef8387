// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/judge_text.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <sstream>
#include <string>

#include "fieldfare/render/internal/dairy_fixture.h"

namespace fieldfare::render {
namespace {

using internal::DairyFixture;
using ::testing::HasSubstr;
using ::testing::Not;

std::size_t widest_line(const std::string& text) {
  std::size_t widest = 0;
  std::istringstream lines{text};
  for (std::string line; std::getline(lines, line);) widest = std::max(widest, columns(line));
  return widest;
}

TEST(JudgeText, PutsTheWorstNodeFirst) {
  const DairyFixture dairy;
  const std::string text = judge_text(dairy.view(), {.width = 100});
  EXPECT_LT(text.find("whey tank"), text.find("brine"));
  EXPECT_LT(text.find("brine"), text.find("cave 1 north"));
}

TEST(JudgeText, TellsAReceiversSilenceOnceAndInWords) {
  const DairyFixture dairy;
  const std::string text = judge_text(dairy.view(), {.width = 200});
  const std::string told =
      "receiver office heard nobody from 2026-03-02 06:10:00 to 2026-03-03 01:23:00 "
      "(19 h 13 min): 2 nodes, 6,585 reports missed; not charged to the nodes";
  EXPECT_THAT(text, HasSubstr(told));
  EXPECT_EQ(text.find("heard nobody from"), text.rfind("heard nobody from"));
}

TEST(JudgeText, TellsOurOwnDeafnessAsOursAndOftenRepeatedInOneSentence) {
  DairyFixture dairy;
  auto& silences = dairy.verdict.receiver_silences;
  silences = {silences.front()};
  silences.front().listening = false;
  EXPECT_THAT(judge_text(dairy.view(), {.width = 200}),
              HasSubstr("not listening to receiver office from 2026-03-02 06:10:00 to "
                        "2026-03-03 01:23:00 (19 h 13 min): 2 nodes, 6,585 reports missed; not "
                        "charged to the nodes"));
  silences.insert(silences.end(), 3, silences.front());
  const std::string often = judge_text(dairy.view(), {.width = 200});
  EXPECT_THAT(often,
              HasSubstr("not listening to receiver office 4 times from 2026-03-02 06:10:00"));
  EXPECT_THAT(often, HasSubstr("26,340 reports missed"));
}

TEST(JudgeText, SaysWhatToDoAndHowLongToWait) {
  const DairyFixture dairy;
  const std::string text = judge_text(dairy.view(), {.width = 100});
  EXPECT_THAT(text, HasSubstr("delivery failed: look for what stands between it and the office"));
  EXPECT_THAT(text, HasSubstr("delivery open: wait for 35 more reports, about 35 min 9 s"));
}

TEST(JudgeText, TellsSleepStrangersAndSkippedRowsInWords) {
  const DairyFixture dairy;
  const std::string text = judge_text(dairy.view(), {.width = 200});
  EXPECT_THAT(text, HasSubstr("the node slept"));
  EXPECT_THAT(text, HasSubstr("00BC is not taken for a node"));
  EXPECT_THAT(text, HasSubstr("1 row was skipped: 1 bad-number"));
  EXPECT_THAT(text, HasSubstr("night.csv:17:3: the level is no number"));
}

TEST(JudgeText, StaysWithinTheTerminal) {
  const DairyFixture dairy;
  for (const std::size_t width : {40U, 59U, 60U, 80U, 99U, 100U, 132U}) {
    EXPECT_LE(widest_line(judge_text(dairy.view(), {.width = width})), width) << width;
    const judge::NodeVerdict& node = dairy.verdict.nodes[1];
    EXPECT_LE(widest_line(node_text(dairy.view(), node, {.width = width})), width) << width;
  }
}

TEST(JudgeText, IsPlainAsciiWhereTheTerminalKnowsNoMore) {
  DairyFixture dairy;
  *dairy.labels.node("K\u00E4sekeller");
  const std::string text = judge_text(dairy.view(), {.width = 80, .unicode = false});
  EXPECT_TRUE(std::all_of(text.begin(), text.end(), [](char c) { return c == '\n' || c >= ' '; }));
}

TEST(JudgeText, UsesNoEscapeSequencesUnlessAsked) {
  const DairyFixture dairy;
  EXPECT_THAT(judge_text(dairy.view(), {}), Not(HasSubstr("\x1b")));
  EXPECT_THAT(judge_text(dairy.view(), {.emphasis = true}), HasSubstr("\x1b["));
}

TEST(JudgeText, SaysThatAnInventedSiteIs) {
  const DairyFixture dairy;
  EXPECT_THAT(judge_text(dairy.view(), {}), HasSubstr("invented"));
}

TEST(NodeText, NamesEveryClaimWithItsReasonAndTheEvidence) {
  const DairyFixture dairy;
  const std::string text = node_text(dairy.view(), dairy.verdict.nodes[1], {.width = 100});
  EXPECT_THAT(text, HasSubstr("open: 7 of 8 heard; needs 35 more reports"));
  EXPECT_THAT(text, HasSubstr("2026-03-02 06:07:00: came back"));
  EXPECT_THAT(text, HasSubstr("60.25 s between sent reports (60.10 to 60.40)"));
  EXPECT_THAT(text, HasSubstr("87.5 % (50.0 to 99.0): 7 of 8 heard"));
  EXPECT_THAT(text, HasSubstr("office"));
}

}  // namespace
}  // namespace fieldfare::render
