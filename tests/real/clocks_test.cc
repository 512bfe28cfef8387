// SPDX-License-Identifier: Apache-2.0
//
// Rows that something is wrong with: clocks, numbers, values, order. Expected
// values: counted in the data sets by another program (SOURCE.md), or here from
// the rows themselves.
#include <algorithm>
#include <nlohmann/json.hpp>

#include "answer.h"
#include "data.h"

namespace fieldfare::real {
namespace {

using nlohmann::json;

TEST_F(RealLogs, ASingleRowWithANumberOfElsewhereIsNoReset) {
  const json& sequence =
      node_of(answer_for("hast-lora-yard", "three_nodes_hourly.csv.gz"), "0005").at("sequence");
  EXPECT_EQ(sequence.at("strays"), 1);
  for (const json& one : sequence.at("resets")) {
    EXPECT_NE(one.at("at").get<std::string>().substr(0, 10), "2024-01-25") << "day of that row";
  }
}

class Humidity655 : public RealLogs {
 protected:
  static LogLines hourly() {
    return read_log(log_path("hast-lora-yard", "three_nodes_hourly.csv.gz"));
  }
  static bool has_it(const std::string& row) { return row.find(",655.35,") != std::string::npos; }
};

TEST_F(Humidity655, IsToldOfEveryNodeThatSentIt) {
  const json& answer = answer_for("hast-lora-yard", "three_nodes_hourly.csv.gz");
  for (const char* node : {"0003", "0005", "000a", "0014"}) {
    const LogLines log = hourly();
    const auto rows = std::ranges::count_if(log.rows, [&](const std::string& row) {
      return has_it(row) && fields_of(row).at(2) == node;
    });
    EXPECT_EQ(node_of(answer, node).value("implausible_rows", 0), rows) << node;
  }
}

// Made from the data: the same rows, each from an address of its own.
TEST_F(Humidity655, EnrolsNobody) {
  LogLines log = hourly();
  int made = 0;
  for (std::string& row : log.rows) {
    if (!has_it(row)) continue;
    const std::string stranger = "02" + std::to_string(10 + made++);
    row.replace(row.find(",main,") + 6, 4, stranger);
  }
  ASSERT_EQ(made, 12);
  const json answer = judge({write("strangers.csv", log)});
  EXPECT_EQ(answer.at("not_enrolled").size(), made);
  for (const json& node : answer.at("nodes")) {
    EXPECT_NE(node.at("address").get<std::string>().substr(0, 2), "02");
  }
}

/// A bench log with restarts, and 13 rows of 1970 with ids that never existed and
/// supplies of 165 V and more.
class BenchLog : public RealLogs {
 protected:
  static constexpr const char* kFile = "three_nodes_bench_ugly.csv.gz";

  static bool is_of_1970(const std::string& row) { return row.starts_with("1970-"); }

  /// The log with the 13 rows at another time, one second apart.
  static LogLines with_those_rows_in(const std::string& minute) {
    LogLines log = read_log(log_path("hast-lora-yard", kFile));
    int second = 10;
    for (std::string& row : log.rows) {
      if (!is_of_1970(row)) continue;
      row.replace(0, row.find('.'), minute).insert(minute.size(), ":" + std::to_string(second++));
    }
    return log;
  }

  static void expect_only_the_real_node(const json& answer) {
    ASSERT_EQ(answer.at("nodes").size(), 1);
    EXPECT_EQ(answer.at("nodes").front().at("address"), "000A");
  }
};

TEST_F(BenchLog, RowsOf1970EnrolNobodyAndAreToldByTheirReason) {
  const json& answer = answer_for("hast-lora-yard", kFile);
  expect_only_the_real_node(answer);
  EXPECT_EQ(answer.at("rows_skipped"), 13);
  EXPECT_EQ(answer.at("skipped_by_reason"), json({{"clock-not-believed", 13}}));
  const LogLines log = read_log(log_path("hast-lora-yard", kFile));
  for (const json& skipped : answer.at("skipped")) {
    // Line 1 is the header.
    EXPECT_TRUE(is_of_1970(log.rows.at(skipped.at("line").get<std::size_t>() - 2)));
  }
}

// Made from the data: clocks beyond the end of signed 32-bit seconds.
TEST_F(BenchLog, RowsOf2038EnrolNobodyAndAreToldByTheirReason) {
  const json answer = judge({write("overflowed.csv", with_those_rows_in("2038-01-19T03:15"))});
  expect_only_the_real_node(answer);
  EXPECT_EQ(answer.at("skipped_by_reason"), json({{"clock-not-believed", 13}}));
  EXPECT_EQ(evidence_of(answer), evidence_of(answer_for("hast-lora-yard", kFile)));
}

// Made from the data: with clocks that can be believed the supply still cannot.
TEST_F(BenchLog, RowsOf165VoltEnrolNobodyEvenWithABelievableClock) {
  const json answer = judge({write("believable.csv", with_those_rows_in("2023-10-01T18:00"))});
  expect_only_the_real_node(answer);
  EXPECT_EQ(answer.at("rows_skipped"), 0);
  EXPECT_EQ(answer.at("not_enrolled").size(), 13);
}

std::int64_t rows_below_the_highest(const LogLines& log) {
  std::vector<std::pair<std::string, std::int64_t>> numbers;
  for (const std::string& row : log.rows) {
    const auto field = fields_of(row);
    numbers.emplace_back(field.at(0), std::stoll(field.at(3)));
  }
  std::ranges::sort(numbers);
  std::int64_t highest = -1;
  std::int64_t below = 0;
  for (const auto& [time, number] : numbers) {
    if (number < highest) ++below;
    highest = std::max(highest, number);
  }
  return below;
}

TEST_F(RealLogs, SevenHundredReportsOutOfOrderAreNoReset) {
  const char* const set = "microclimate-solar-wsn";
  const char* const file = "box_3b06.csv.gz";
  ASSERT_EQ(rows_below_the_highest(read_log(log_path(set, file))), 731);
  const json& sequence = node_of(answer_for(set, file), "3b06").at("sequence");
  EXPECT_TRUE(sequence.at("resets").empty());
  EXPECT_EQ(sequence.at("strays"), 0);
  EXPECT_EQ(sequence.at("missed"), 0);
}

// Data set li-socl2-tower-lora: 11 receivers, one of which has two antennas or
// stands for two, so that its key comes twice with nearly every report.
TEST_F(RealLogs, AReportIsOneHoweverManyReceiversHearItAndHoweverOften) {
  const json& node = node_of(answer_for("li-socl2-tower-lora", "fort_outdoor.csv.gz"), "0021");
  EXPECT_EQ(node.at("links").size(), 11);
  EXPECT_EQ(node.at("heard").at("hearings"), 93435);
  EXPECT_EQ(node.at("heard").at("duplicates"), 13455);
  EXPECT_EQ(node.at("heard").at("reports"), 13768);
}

}  // namespace
}  // namespace fieldfare::real
