// SPDX-License-Identifier: Apache-2.0
// The same hearings give the same answer, whatever way they come in.
#include <gtest/gtest.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "fieldfare/app/deafness.h"
#include "fieldfare/app/import_logs.h"
#include "fieldfare/app/judge_logs.h"
#include "fieldfare/app/judge_store.h"
#include "fieldfare/base/random.h"
#include "fieldfare/render/judge_json.h"
#include "fieldfare/store/writer.h"

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

/// Stores hearings as listening does; invented.
class Listened : public Judging {
 protected:
  struct Session {
    std::int64_t from;  ///< beats
    std::int64_t to;
  };

  /// Two nodes at every beat of the sessions, through source `mast`.
  void listen(std::initializer_list<Session> sessions, std::int64_t cave_ends = 1 << 20) {
    auto opened = store::Store::open(fs::path{folder_} / "fieldfare.db", store::Mode::write);
    ASSERT_TRUE(opened);
    fleet::Labels labels;
    store::Writer writer{*opened};
    for (const Session& session : sessions) {
      const Instant from = beat(session.from) - Duration::seconds(10);
      for (std::int64_t n = session.from; n < session.to; ++n) {
        if (n < cave_ends) append(writer, labels, "cave", n);
        append(writer, labels, "brine", n);
        writer.listened("mast", from, beat(n) + Duration::seconds(10));
      }
      ASSERT_TRUE(writer.commit(labels));
    }
  }

  static void append(store::Writer& writer, fleet::Labels& labels, const char* node,
                     std::int64_t n) {
    fleet::Hearing hearing;
    hearing.node = *labels.node(node);
    hearing.receiver = *labels.receiver("r1");
    hearing.time = beat(n);
    hearing.sequence = static_cast<std::uint64_t>(n % 256);
    ASSERT_TRUE(writer.append(hearing, labels));
    writer.came_through(hearing.receiver, "mast");
  }

  judge::FleetVerdict verdict() const {
    auto judged = judge_store(request(), folder_, site_);
    EXPECT_TRUE(judged);
    return judged ? std::move(judged->verdict) : judge::FleetVerdict{};
  }
};

TEST_F(Listened, WhatWasMissedWhileNobodyListenedIsNotChargedToNodes) {
  listen({{0, 300}, {400, 700}});
  for (const char* run : {"folded", "from checkpoints"}) {
    const judge::FleetVerdict is = verdict();
    ASSERT_EQ(is.nodes.size(), 2U);
    for (const judge::NodeVerdict& node : is.nodes) {
      EXPECT_EQ(node.evidence.sequence->missed, 100U) << run;
      EXPECT_EQ(node.delivery->expected, 600U) << run;
      EXPECT_EQ(node.delivery->heard, 600U) << run;
      EXPECT_FALSE(node.quiet) << run;
    }
    ASSERT_EQ(is.receiver_silences.size(), 1U);
    EXPECT_FALSE(is.receiver_silences[0].listening);
    EXPECT_EQ(is.receiver_silences[0].missed, 200U);
    EXPECT_EQ(is.receiver_silences[0].from, beat(299) + Duration::seconds(10));
    EXPECT_EQ(is.receiver_silences[0].to, beat(400) - Duration::seconds(10));
  }
}

TEST_F(Listened, AListenerThatHasJustBegunAgainCallsNobodyQuiet) {
  listen({{0, 300}, {1300, 1302}}, 300);
  for (const judge::NodeVerdict& node : verdict().nodes) EXPECT_FALSE(node.quiet);
  listen({{1302, 1330}}, 300);
  const judge::FleetVerdict later = verdict();
  EXPECT_FALSE(later.nodes[0].quiet) << "brine";
  EXPECT_TRUE(later.nodes[1].quiet) << "cave";
}

TEST_F(Listened, OfImportedLogsNothingIsKnownOfListening) {
  std::vector<std::string> rows;
  for (std::int64_t n = 0; n < 700; ++n) {
    if (n < 300 || n >= 400) {
      rows.push_back(to_rfc3339(beat(n)) + ",cave,r1," + std::to_string(n % 256) + ",-80\n");
    }
  }
  import(log("a.csv", rows));
  const judge::FleetVerdict is = verdict();
  EXPECT_TRUE(is.receiver_silences.empty());
  EXPECT_EQ(is.nodes[1].delivery->expected, 700U);
}

TEST(DeafnessOf, IsWhatLiesBetweenTheStretchesOfAReceiversSource) {
  constexpr std::int64_t kS = 1'000'000'000;
  fleet::Labels labels;
  const std::vector<store::Listening> listening{
      {"mast", {100 * kS}, {200 * kS}},  // then 4.9 s of nothing: no break
      {"mast", {204'900'000'000}, {300 * kS}},
      {"mast", {250 * kS}, {280 * kS}},  // another listener, at the same time
      {"mast", {305 * kS}, {400 * kS}},
      {"loft", {0}, {350 * kS}},
  };
  const auto deaf = deafness_of(
      listening, std::vector<store::ReceiverSource>{{"r1", "mast"}, {"r3", "yard"}}, labels);
  ASSERT_EQ(deaf.size(), 2U);
  EXPECT_EQ(labels.receiver_name(deaf[0].receiver), "r1");
  EXPECT_EQ(deaf[0].from.ns, 300 * kS);
  EXPECT_EQ(deaf[0].to.ns, 305 * kS);
  EXPECT_EQ(deaf[1].from.ns, 400 * kS);
  EXPECT_EQ(deaf[1].to.ns, INT64_MAX);
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
