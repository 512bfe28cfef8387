// SPDX-License-Identifier: Apache-2.0
//
// Silences of a receiver and of a node are different things. Expected values:
// counted in the data sets by another program (SOURCE.md).
#include <nlohmann/json.hpp>

#include "answer.h"
#include "data.h"

namespace fieldfare::real {
namespace {

using nlohmann::json;

double seconds_between(const json& from, const json& to) {
  const auto begin = parse_rfc3339(from.get<std::string>());
  const auto end = parse_rfc3339(to.get<std::string>());
  return (end.value() - begin.value()).in_seconds();
}

// The console that wrote the log was down from 2020-09-08 16:10 for 19.2 h.
TEST_F(RealLogs, AReceiverThatHeardNobodyFor19HoursIsOneSilenceOfBothNodes) {
  const json& silences =
      answer_for("hast-lora-yard", "backyard_2020-09a.csv.gz").at("receiver_silences");
  ASSERT_EQ(silences.size(), 1);
  const json& silence = silences.front();
  EXPECT_EQ(silence.at("receiver"), "r1");
  EXPECT_EQ(silence.at("nodes"), 2);
  EXPECT_EQ(silence.at("from").get<std::string>().substr(0, 16), "2020-09-08T16:10");
  EXPECT_NEAR(seconds_between(silence.at("from"), silence.at("to")) / 3600, 19.2, 0.05);
  // Counters went on by 3,296 and 3,291: one less is missing of each.
  EXPECT_EQ(silence.at("missed"), 3295 + 3290);
}

TEST_F(RealLogs, NodesAreChargedOnlyForWhatWasLostOutsideTheReceiversSilence) {
  const json& answer = answer_for("hast-lora-yard", "backyard_2020-09a.csv.gz");
  const json& first = node_of(answer, "0001").at("delivery");
  EXPECT_EQ(first.at("heard"), 4520);
  EXPECT_EQ(first.at("expected"), 4581);
  const json& second = node_of(answer, "0002").at("delivery");
  EXPECT_EQ(second.at("heard"), 11078);
  EXPECT_EQ(second.at("expected"), 11152);
}

json kinds_of(const json& breaks) {
  json kinds = json::array();
  for (const json& one : breaks) kinds.push_back(one.at("kind"));
  return kinds;
}

// Data set li-socl2-tower-lora: twice silent for 48.5 days, then the same counter
// came again; once it began at 0.
TEST_F(RealLogs, ANodeThatSleptTwiceForWeeksAndBeganAnewOnceLostNothingByIt) {
  const json& node = node_of(answer_for("li-socl2-tower-lora", "tower.csv.gz"), "0001");
  const json& sequence = node.at("sequence");
  EXPECT_EQ(kinds_of(sequence.at("resets")), json({"stood_still", "reset", "stood_still"}));
  EXPECT_EQ(sequence.at("missed"), 2);
  EXPECT_EQ(node.at("delivery").at("heard"), 4803);
  EXPECT_EQ(node.at("delivery").at("expected"), 4805);
}

TEST_F(RealLogs, SleepOfOneNodeAmongManyReceiversIsNoSilenceOfAReceiver) {
  EXPECT_TRUE(answer_for("li-socl2-tower-lora", "tower.csv.gz").at("receiver_silences").empty());
}

}  // namespace
}  // namespace fieldfare::real
