// SPDX-License-Identifier: Apache-2.0
//
// Excerpts of open data sets that lie here and so are judged everywhere. Expected
// values: excerpts/known_answers.csv, counted by count.py beside it.
#include <map>
#include <nlohmann/json.hpp>

#include "answer.h"
#include "data.h"

namespace fieldfare::real {
namespace {

using nlohmann::json;

std::filesystem::path excerpts() {
  return std::filesystem::path{FIELDFARE_SOURCE_DIR} / "tests/real/excerpts";
}

/// The counts of one excerpt by the names of their columns.
std::map<std::string, std::int64_t> known(const std::string& set) {
  const LogLines table = read_log(excerpts() / "known_answers.csv");
  const auto names = fields_of(table.header);
  std::map<std::string, std::int64_t> counts;
  for (const std::string& row : table.rows) {
    const auto field = fields_of(row);
    if (field.front() != set) continue;
    for (std::size_t i = 1; i < names.size(); ++i) counts[names[i]] = std::stoll(field.at(i));
  }
  return counts;
}

json judge_excerpt(const std::string& set) { return judge({excerpts() / set / "log.csv"}); }

void expect_counted(const json& node, const std::string& set) {
  const auto count = known(set);
  EXPECT_EQ(node.at("heard").at("hearings"), count.at("rows"));
  EXPECT_EQ(node.at("heard").at("reports"), count.at("heard"));
  EXPECT_EQ(node.at("heard").at("duplicates"), 0);
  EXPECT_EQ(node.at("sequence").at("expected"), count.at("sent"));
  EXPECT_EQ(node.at("sequence").at("missed"), count.at("missed"));
  EXPECT_EQ(node.at("sequence").at("longest_gap_s"), count.at("longest_gap_s"));
  EXPECT_EQ(node.at("sequence").at("strays"), 0);
  EXPECT_TRUE(node.at("sequence").at("resets").empty());
}

TEST(Excerpts, ANarrowbandLinkIsJudgedAsItsListOfPacketsSentSays) {
  const json answer = judge_excerpt("jsi-unb-868");
  const json& node = node_of(answer, "0001");
  expect_counted(node, "jsi-unb-868");
  const auto count = known("jsi-unb-868");
  const json& delivery = node.at("delivery");
  EXPECT_EQ(delivery.at("heard"), count.at("heard"));
  EXPECT_EQ(delivery.at("expected"), count.at("sent"));
  EXPECT_NEAR(delivery.at("mean_loss_run").get<double>(),
              static_cast<double>(count.at("missed")) / static_cast<double>(count.at("loss_runs")),
              1e-9);
}

TEST(Excerpts, AReportEverySevenOrEightWholeSecondsHasTheIntervalOfTheLongRun) {
  const json answer = judge_excerpt("jsi-unb-868");
  const auto count = known("jsi-unb-868");
  const double long_run =
      static_cast<double>(count.at("span_s")) / static_cast<double>(count.at("sent") - 1);
  EXPECT_NEAR(node_of(answer, "0001").at("cadence").at("interval_s").get<double>() / long_run, 1,
              0.02);
}

TEST(Excerpts, BatchesOutOfOrderAndALongSilenceAreNoLossAndNoReset) {
  const auto count = known("microclimate-solar-wsn");
  ASSERT_GT(count.at("below_highest"), 50) << "the excerpt has to be out of order";
  ASSERT_GT(count.at("longest_gap_s"), 21 * 3600) << "and to have its silence";
  const json answer = judge_excerpt("microclimate-solar-wsn");
  expect_counted(node_of(answer, "3b06"), "microclimate-solar-wsn");
}

}  // namespace
}  // namespace fieldfare::real
