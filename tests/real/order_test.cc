// SPDX-License-Identifier: Apache-2.0
//
// The evidence depends on the hearings and not on how they arrive: property,
// needs no expected values.
#include <algorithm>
#include <nlohmann/json.hpp>
#include <ostream>
#include <random>

#include "answer.h"
#include "data.h"

namespace fieldfare::real {
namespace {

using nlohmann::json;

struct Log {
  const char* set;
  const char* file;
};

std::ostream& operator<<(std::ostream& out, const Log& log) {
  return out << log.set << ": " << log.file;
}

/// One log of each kind: silences of a receiver, restarts and repeated rows, rows
/// out of order, many receivers, false clocks, many nodes, whole seconds, no
/// counters on most rows.
constexpr Log kLogs[] = {
    {"hast-lora-yard", "backyard_2020-09a.csv.gz"},
    {"hast-lora-yard", "bench_1_synthetic_time.csv.gz"},
    {"hast-lora-yard", "three_nodes_bench_ugly.csv.gz"},
    {"hast-lora-yard", "three_nodes_hourly.csv.gz"},
    {"jsi-unb-868", "2016-09_norep.csv.gz"},
    {"li-socl2-tower-lora", "tower.csv.gz"},
    {"lyon-868-urban", "patches2_by_setting.csv.gz"},
    {"microclimate-solar-wsn", "box_3b06.csv.gz"},
    {"ulb-library-802154", "lib1_R2.csv.gz"},
};

/// A permutation that is the same on every platform, unlike that of std::shuffle.
void shuffle(std::vector<std::string>& rows, std::mt19937_64 random) {
  for (std::size_t left = rows.size(); left > 1; --left) {
    std::swap(rows[left - 1], rows[random() % left]);
  }
}

class OrderOfRows : public RealLogs, public testing::WithParamInterface<Log> {
 protected:
  static std::filesystem::path path() { return log_path(GetParam().set, GetParam().file); }
  static json evidence() { return evidence_of(answer_for(GetParam().set, GetParam().file)); }
};

TEST_P(OrderOfRows, DoesNotMatter) {
  LogLines log = read_log(path());
  shuffle(log.rows, std::mt19937_64{20260302});
  EXPECT_EQ(evidence_of(judge({write("shuffled.csv", log)})), evidence());
}

TEST_P(OrderOfRows, DoesNotMatterEvenDealtToThreeFiles) {
  LogLines log = read_log(path());
  shuffle(log.rows, std::mt19937_64{302});
  std::vector<LogLines> parts(3, LogLines{log.header, {}});
  for (std::size_t i = 0; i < log.rows.size(); ++i) parts[i % 3].rows.push_back(log.rows[i]);
  EXPECT_EQ(evidence_of(judge(
                {write("1.csv", parts[0]), write("2.csv", parts[1]), write("3.csv", parts[2])})),
            evidence());
}

TEST_P(OrderOfRows, DoesNotMatterInThreeFilesOneAfterTheOther) {
  const LogLines log = read_log(path());
  std::vector<std::filesystem::path> parts;
  const std::size_t third = log.rows.size() / 3 + 1;
  for (std::size_t begin = 0; begin < log.rows.size(); begin += third) {
    const auto end = std::min(begin + third, log.rows.size());
    LogLines part{log.header, {}};
    part.rows.assign(log.rows.begin() + static_cast<std::ptrdiff_t>(begin),
                     log.rows.begin() + static_cast<std::ptrdiff_t>(end));
    parts.push_back(write(std::to_string(begin) + ".csv", part));
  }
  std::ranges::reverse(parts);
  EXPECT_EQ(evidence_of(judge(parts)), evidence());
}

// What counts rows doubles; nothing else may change.
TEST_P(OrderOfRows, AndALogGivenTwiceChangesOnlyTheCountOfRows) {
  const json once = evidence();
  const json twice = evidence_of(judge({path(), path()}));
  EXPECT_EQ(without_row_counts(twice), without_row_counts(once));
  for (const json& node : once.at("nodes")) {
    const json& again = node_of(twice, node.at("address"));
    EXPECT_EQ(again.at("heard").at("hearings"),
              2 * node.at("heard").at("hearings").get<std::int64_t>());
  }
}

INSTANTIATE_TEST_SUITE_P(DataSets, OrderOfRows, testing::ValuesIn(kLogs));

}  // namespace
}  // namespace fieldfare::real
