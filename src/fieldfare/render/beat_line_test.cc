// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/beat_line.h"

#include <gtest/gtest.h>

#include <string>

#include "fieldfare/render/words.h"

namespace fieldfare::render {
namespace {

constexpr std::int64_t kSecond = 1'000'000'000;

/// A node of 60 s; verbs add its reports. Invented.
class BeatLine : public ::testing::Test {
 protected:
  BeatLine() {
    verdict_.evidence.cadence.emplace();
    verdict_.evidence.cadence->interval_s = 60;
  }

  void hear(std::uint64_t number, double late_s = 0) {
    const auto at = static_cast<std::int64_t>((60.0 * static_cast<double>(number) + late_s) * 1e9);
    verdict_.evidence.recent.push_back({.time = Instant{at}, .number = number, .rssi_dbm = {}});
  }
  void hear_all(std::uint64_t first, std::uint64_t last) {
    for (std::uint64_t n = first; n <= last; ++n) hear(n);
  }
  std::string drawn(std::size_t width, bool unicode = false) const {
    return beat_line(beats_of(verdict_, silences_), width, unicode);
  }

  judge::NodeVerdict verdict_;
  std::vector<evidence::ReceiverSilence> silences_;
};

TEST_F(BeatLine, DrawsATickForEveryReportAndADotForEveryMissedOne) {
  hear_all(1, 3);
  hear_all(5, 6);
  hear(9);
  EXPECT_EQ(drawn(10), " |||.||..|");
  EXPECT_EQ(drawn(10, true), " │││·││··│");
}

TEST_F(BeatLine, LeansToTheSideOnWhichAReportFell) {
  hear_all(1, 4);
  hear(5, 5);
  hear_all(6, 8);
  hear(9, -5);
  hear_all(10, 13);
  EXPECT_EQ(drawn(13), "||||/|||\\||||");
}

TEST_F(BeatLine, DoesNotLeanWithinATwentiethOfTheInterval) {
  hear_all(1, 4);
  hear(5, 2.9);
  hear_all(6, 9);
  EXPECT_EQ(drawn(9), "|||||||||");
}

TEST_F(BeatLine, FollowsAClockThatWanders) {
  // 1 s a beat away from the interval: 30 s after 30 beats, never off its
  // neighbours' beat by more than the tolerance of 3 s, save at the ends.
  for (std::uint64_t n = 1; n <= 30; ++n) hear(n, static_cast<double>(n) * 0.5);
  EXPECT_EQ(drawn(30), std::string(30, '|'));
}

TEST_F(BeatLine, WritesALongRowOfMissedBeatsAsANumber) {
  hear(1);
  hear(25);
  EXPECT_EQ(drawn(6), "|.23.|");
}

TEST_F(BeatLine, DropsANumberThatIsNotWholeRatherThanShowPartOfIt) {
  hear_all(1, 5);
  hear(129);
  EXPECT_EQ(drawn(4), "   |");
}

TEST_F(BeatLine, TellsReportsMissedByADeafReceiverApart) {
  verdict_.evidence.links.push_back({.receiver = fleet::ReceiverIndex{0}, .first = {}, .last = {}});
  silences_.push_back({.receiver = fleet::ReceiverIndex{0},
                       .from = Instant{120 * kSecond},
                       .to = Instant{300 * kSecond}});
  hear_all(1, 2);
  hear(5);
  hear(7);
  EXPECT_EQ(drawn(7), "||--|.|");
}

TEST_F(BeatLine, IsNotDeafThroughAReceiverThatNeverHeardTheNode) {
  silences_.push_back({.receiver = fleet::ReceiverIndex{0},
                       .from = Instant{120 * kSecond},
                       .to = Instant{300 * kSecond}});
  hear_all(1, 2);
  hear(5);
  EXPECT_EQ(drawn(5), "||..|");
}

TEST_F(BeatLine, MarksTheFirstReportOfANewRunAndMissesNothingBetweenRuns) {
  hear_all(1, 3);
  verdict_.evidence.recent.push_back(
      {.time = Instant{9000 * kSecond}, .number = 1, .starts_run = true, .rssi_dbm = {}});
  verdict_.evidence.recent.push_back(
      {.time = Instant{9060 * kSecond}, .number = 2, .rssi_dbm = {}});
  EXPECT_EQ(drawn(5), "|||^|");
}

TEST_F(BeatLine, WithoutACadenceDrawsWhatWasHeard) {
  verdict_.evidence.cadence.reset();
  hear(1);
  hear(3);
  EXPECT_EQ(drawn(3), "|.|");
}

TEST_F(BeatLine, OfANodeNeverHeardIsBlank) { EXPECT_EQ(drawn(4), "    "); }

TEST_F(BeatLine, IsAlwaysExactlyAsWideAsAsked) {
  hear_all(1, 40);
  hear(400);
  hear_all(402, 409);
  for (std::size_t width = 1; width < 60; ++width) {
    EXPECT_EQ(columns(drawn(width, true)), width);
  }
}

}  // namespace
}  // namespace fieldfare::render
