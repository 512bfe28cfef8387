// SPDX-License-Identifier: Apache-2.0
//
// Expected values: known_answers.csv, counted by another program (SOURCE.md).
#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <utility>

#include "answer.h"
#include "data.h"
#include "table.h"

namespace fieldfare::real {
namespace {

using nlohmann::json;

std::vector<KnownAnswer> table() {
  return known_answers(std::filesystem::path{FIELDFARE_SOURCE_DIR} /
                       "tests/real/known_answers.csv");
}

std::string name_of(const KnownAnswer& known) {
  return known.set + ": " + known.file + ", node " + known.node;
}

void expect_counts(const json& node, const KnownAnswer& known) {
  const json& heard = node.at("heard");
  const json& sequence = node.at("sequence");
  EXPECT_EQ(heard.at("hearings"), known.hearings);
  EXPECT_EQ(heard.at("reports"), known.heard);
  EXPECT_EQ(heard.at("duplicates"), known.duplicates);
  EXPECT_EQ(further_hearings(node), known.further_hearings);
  EXPECT_EQ(sequence.at("expected"), known.expected);
  EXPECT_EQ(sequence.at("missed"), known.missed);
  EXPECT_EQ(sequence.at("resets").size(), known.resets);
  EXPECT_FALSE(sequence.contains("earlier_resets"));
  EXPECT_EQ(sequence.at("strays"), known.strays);
  // The table has a tenth of a second, rounded.
  EXPECT_NEAR(sequence.at("longest_gap_s").get<double>(), known.longest_gap_s, 0.11);
}

TEST_F(RealLogs, EveryNodeIsCountedAsAnotherProgramCountedIt) {
  for (const KnownAnswer& known : table()) {
    SCOPED_TRACE(name_of(known));
    expect_counts(node_of(answer_for(known.set, known.file), known.node), known);
  }
}

TEST_F(RealLogs, NobodyIsEnrolledWhoIsNotInTheLog) {
  std::map<std::pair<std::string, std::string>, std::size_t> nodes;
  for (const KnownAnswer& known : table()) ++nodes[{known.set, known.file}];
  for (const auto& [log, count] : nodes) {
    EXPECT_EQ(answer_for(log.first, log.second).at("nodes").size(), count)
        << log.first << ": " << log.second;
  }
}

/// Logs whose median time between reports says nothing to compare with.
bool has_no_steady_median(const KnownAnswer& known) {
  // Whole seconds make 7 s or 8 s of every step; see the next test.
  if (known.set == "jsi-unb-868") return known.interval_s == 8;
  // Its reports come in batches, from seconds to hours apart.
  return known.set == "microclimate-solar-wsn";
}

TEST_F(RealLogs, IntervalsAgreeWithTheMedianStepWithinTwoPercent) {
  for (const KnownAnswer& known : table()) {
    if (has_no_steady_median(known)) continue;
    SCOPED_TRACE(name_of(known));
    const json& node = node_of(answer_for(known.set, known.file), known.node);
    EXPECT_NEAR(node.at("cadence").at("interval_s").get<double>() / known.interval_s, 1, 0.02);
  }
}

// First and last report of both runs lie 7,625 s and 999 reports apart, which is
// 7.633 s; between neighbours stand 7 s or 8 s, as the times are whole seconds.
TEST_F(RealLogs, AnIntervalIsTheLongRunOneWhereTimesAreWholeSeconds) {
  for (const char* file : {"2016-09_3rep.csv.gz", "2016-09_norep.csv.gz"}) {
    const json& node = node_of(answer_for("jsi-unb-868", file), "0001");
    EXPECT_NEAR(node.at("cadence").at("interval_s").get<double>(), 7625.0 / 999, 0.02) << file;
  }
}

}  // namespace
}  // namespace fieldfare::real
