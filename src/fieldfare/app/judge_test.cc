// SPDX-License-Identifier: Apache-2.0
// The same hearings give the same answer, whatever way they come in.
#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "fieldfare/app/import_logs.h"
#include "fieldfare/app/judge_logs.h"
#include "fieldfare/app/judge_store.h"
#include "fieldfare/base/random.h"
#include "fieldfare/render/judge_json.h"

namespace fieldfare::app {
namespace {

namespace fs = std::filesystem;

constexpr const char* kHeader = "time,node,receiver,seq,rssi_dbm\n";

/// A folder for the logs of a test, and an invented site of two nodes.
class Judging : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string name = (fs::temp_directory_path() / "fieldfare-XXXXXX").string();
    folder_ = ::mkdtemp(name.data());
    site_.name = "Tarn Dairy";
    for (const char* listed : {"brine", "cave"}) {
      fleet::Node node;
      node.name = listed;
      site_.nodes.push_back(node);
    }
  }
  void TearDown() override { fs::remove_all(folder_); }

  static Instant beat(std::int64_t n) { return {(1'772'431'200 + 31 * n) * 1'000'000'000}; }

  /// 1500 beats of two nodes at 31 s, some lost, some heard twice.
  static std::vector<std::string> rows() {
    RandomStream random{11, "judging"};
    std::vector<std::string> rows;
    for (std::int64_t n = 0; n < 1500; ++n) {
      for (const char* node : {"brine", "cave"}) {
        if (random.bernoulli(0.1)) continue;
        const Instant heard = beat(n);
        const std::string seq = std::to_string(n % 256);
        rows.push_back(to_rfc3339(heard) + "," + node + ",r1," + seq + ",-80\n");
        if (random.bernoulli(0.2)) {
          rows.push_back(to_rfc3339(heard) + "," + node + ",r2," + seq + ",-90\n");
        }
      }
    }
    return rows;
  }

  std::string log(const std::string& name, std::span<const std::string> rows) const {
    const std::string path = (fs::path{folder_} / name).string();
    std::ofstream file{path};
    file << kHeader;
    for (const std::string& row : rows) file << row;
    return path;
  }

  JudgeRequest request(std::vector<std::string> logs = {}) const {
    JudgeRequest request;
    request.logs = std::move(logs);
    request.spoken = {Duration::seconds(31), std::uint8_t{8}};
    return request;
  }

  /// The answer without what the run read.
  static std::string document(Result<Judged, Trouble> judged) {
    EXPECT_TRUE(judged);
    if (!judged) return judged.error().complaints.front().text();
    notes_ = judged->run.notes;
    judged->run = {};
    return render::judge_json(judged->view());
  }
  std::string of_logs(std::vector<std::string> logs) const {
    return document(judge_logs(request(std::move(logs)), &site_));
  }
  std::string of_store() const { return document(judge_store(request(), folder_, site_)); }

  ImportOutcome import(const std::string& path) const {
    auto outcome = import_logs({folder_, {path}, false, Instant{}, {}}, site_);
    EXPECT_TRUE(outcome);
    return outcome ? std::move(*outcome) : ImportOutcome{};
  }

  std::string folder_;
  fleet::Site site_;
  static inline std::vector<std::string> notes_;
};

TEST_F(Judging, DoesNotDependOnTheOrderOfRows) {
  auto all = rows();
  const std::string in_order = of_logs({log("a.csv", all)});
  EXPECT_TRUE(notes_.empty());
  std::reverse(all.begin(), all.end());
  EXPECT_EQ(of_logs({log("b.csv", all)}), in_order);
  ASSERT_FALSE(notes_.empty()) << "so much disorder is told";
}

TEST_F(Judging, DoesNotDependOnTheFilesThatTheRowsAreIn) {
  const auto all = rows();
  const std::span<const std::string> view{all};
  const std::string whole = of_logs({log("a.csv", all)});
  const std::string first = log("1.csv", view.first(1000));
  const std::string rest = log("2.csv", view.subspan(1000));
  EXPECT_EQ(of_logs({first, rest}), whole);
  EXPECT_EQ(of_logs({rest, first}), whole);
}

TEST_F(Judging, OfAStoreFilledInPiecesIsThatOfTheWholeLog) {
  const auto all = rows();
  const std::span<const std::string> view{all};
  const std::string whole = of_logs({log("a.csv", all)});
  for (std::size_t at = 0; at < all.size(); at += 700) {
    import(log(std::to_string(at) + ".csv",
               view.subspan(at, std::min<std::size_t>(700, all.size() - at))));
    of_store();
  }
  EXPECT_EQ(of_store(), whole);
  EXPECT_EQ(of_store(), whole) << "from checkpoints alone";
}

TEST_F(Judging, OfAStoreFilledBackwardsIsThatOfTheWholeLog) {
  const auto all = rows();
  const std::span<const std::string> view{all};
  const std::string whole = of_logs({log("a.csv", all)});
  import(log("2.csv", view.subspan(700)));
  of_store();
  import(log("1.csv", view.first(700)));
  EXPECT_EQ(of_store(), whole);
}

TEST_F(Judging, OfAStoreFollowsWhenTheSiteSaysOtherwise) {
  const auto all = rows();
  const std::string path = log("a.csv", all);
  import(path);
  of_store();
  site_.nodes[0].card.interval = Duration::seconds(62);
  EXPECT_EQ(of_store(), of_logs({path}));
}

TEST_F(Judging, OfAStretchIsThatOfItsRows) {
  const auto all = rows();
  import(log("a.csv", all));
  JudgeRequest narrow = request({log("b.csv", all)});
  narrow.from = beat(100);
  narrow.to = beat(200);
  const std::string stored = document(judge_store(narrow, folder_, site_));
  EXPECT_EQ(document(judge_logs(narrow, &site_)), stored);
}

TEST_F(Judging, ImportingAFileAgainTakesWhatIsNew) {
  const auto all = rows();
  const std::span<const std::string> view{all};
  const std::string path = log("a.csv", view.first(2000));
  EXPECT_EQ(import(path).rows_taken, 2000U);
  EXPECT_EQ(import(path).rows_taken, 0U);
  log("a.csv", all);
  const ImportOutcome grown = import(path);
  EXPECT_EQ(grown.rows_taken, all.size() - 2000);
  EXPECT_EQ(grown.rows_known, 2000U);
  EXPECT_EQ(of_store(), of_logs({path}));
}

TEST_F(Judging, ATornLastRowIsTakenOnceItIsWhole) {
  const auto all = rows();
  const std::string path = log("a.csv", std::span{all}.first(10));
  std::ofstream{path, std::ios::app} << all[10].substr(0, 15);
  const ImportOutcome torn = import(path);
  EXPECT_EQ(torn.rows_taken, 10U);
  EXPECT_EQ(torn.rows_skipped, 1U);
  log("a.csv", std::span{all}.first(11));
  EXPECT_EQ(import(path).rows_taken, 1U);
}

}  // namespace
}  // namespace fieldfare::app
