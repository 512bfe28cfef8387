// SPDX-License-Identifier: Apache-2.0
//
// Expected values: captured_nodes.csv, counted by another program (SOURCE.md).
#include <map>
#include <nlohmann/json.hpp>
#include <string>

#include "answer.h"
#include "data.h"

namespace fieldfare::real {
namespace {

using nlohmann::json;

struct Row {
  std::string file;
  std::int64_t frames;
  std::int64_t check_ok;
  std::string node;
  std::int64_t heard;
  std::string repeats, missed;  ///< empty: not to be compared
  double longest_gap_s;
  std::string mean_dbm;  ///< likewise
};

std::vector<Row> table() {
  std::vector<Row> rows;
  const auto path = std::filesystem::path{FIELDFARE_SOURCE_DIR} / "tests/real/captured_nodes.csv";
  for (const std::string& line : read_log(path).rows) {
    const auto field = fields_of(line);
    rows.push_back({field.at(0), std::stoll(field.at(1)), std::stoll(field.at(2)), field.at(3),
                    std::stoll(field.at(4)), field.at(5), field.at(6), std::stod(field.at(7)),
                    field.at(8)});
  }
  return rows;
}

const json& answer_for_capture(const std::string& file) {
  static std::map<std::string, json> answers;
  if (!answers.contains(file)) {
    answers[file] = judge({data_folder().value() / "pcap-802154" / file});
  }
  return answers[file];
}

const json& named(const json& answer, const std::string& node) {
  for (const json& other : answer.at("nodes")) {
    if (other.at("node") == node) return other;
  }
  throw std::runtime_error("no node " + node);
}

TEST_F(RealLogs, FramesOfCapturesAreCountedAsAnotherProgramCountedThem) {
  for (const Row& row : table()) {
    SCOPED_TRACE(row.file + ' ' + row.node);
    const json& answer = answer_for_capture(row.file);
    EXPECT_EQ(answer.at("rows_read"), row.frames);
    EXPECT_EQ(answer.at("skipped_by_reason").value("bad-check", 0), row.frames - row.check_ok);
    const json& node = named(answer, row.node);
    EXPECT_EQ(node.at("heard").at("hearings"), row.heard);
    if (!row.repeats.empty()) {
      EXPECT_EQ(node.at("heard").at("duplicates"), std::stoll(row.repeats));
    }
    if (!row.mean_dbm.empty()) {
      const double mean = node.at("links").at(0).at("rssi_mean_dbm");
      EXPECT_NEAR(mean, std::stod(row.mean_dbm), 0.051);
    }
    if (row.missed.empty()) continue;
    EXPECT_EQ(node.at("sequence").at("missed"), std::stoll(row.missed));
    EXPECT_NEAR(node.at("sequence").at("longest_gap_s").get<double>(), row.longest_gap_s, 0.051);
  }
}

TEST_F(RealLogs, ACoordinatorOfManyListenersIsChargedWithNoLosses) {
  for (const Row& row : table()) {
    if (!row.missed.empty()) continue;
    SCOPED_TRACE(row.file + ' ' + row.node);
    const json& node = named(answer_for_capture(row.file), row.node);
    EXPECT_EQ(node.at("counter_shared"), true);
    EXPECT_FALSE(node.contains("sequence"));
    EXPECT_FALSE(node.contains("delivery"));
  }
}

}  // namespace
}  // namespace fieldfare::real
