// SPDX-License-Identifier: Apache-2.0
// A desk from its sources to a site that says the same. All data is invented.
#include "fieldfare/app/desk_session.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <unistd.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <functional>
#include <thread>

#include "fieldfare/app/judge_store.h"
#include "fieldfare/app/site_folder.h"
#include "fieldfare/wire/framing.h"

namespace fieldfare::app {
namespace {

namespace fs = std::filesystem;

constexpr const char* kSheet = R"([sheet]
name = "desk-probe"
kind = "node"
invented = true

[sequence]
bits = 16
starts_at = 1

[frame]
framing = "hdlc"
check = "crc-16/ibm-sdlc"
[[frame.field]]
name = "node"
at = 0
type = "bytes4"
role = "address"
[[frame.field]]
name = "seq"
at = 4
type = "u16be"
role = "sequence"
[[frame.field]]
name = "rssi"
at = 6
type = "i8"
role = "rssi"
[[frame.field]]
name = "temperature_c"
at = 7
type = "i16be"
scale = 0.01
)";

Instant now() {
  const auto since = std::chrono::system_clock::now().time_since_epoch();
  return {std::chrono::duration_cast<std::chrono::nanoseconds>(since).count()};
}

/// Does what a script says, a step a turn, once its condition holds.
class ScriptedHost : public DeskHost {
 public:
  struct Step {
    std::function<bool(const work::DeskView&)> when;
    std::function<std::vector<work::Deed>(const work::DeskView&)> then;
  };
  explicit ScriptedHost(std::vector<Step> steps) : steps_{std::move(steps)} {}

  std::vector<work::Deed> turn(const work::DeskView& view,
                               std::chrono::milliseconds patience) override {
    last = view;
    if (next_ < steps_.size() && steps_[next_].when(view)) return steps_[next_++].then(view);
    std::this_thread::sleep_for(patience);
    return {};
  }
  void answer(const std::string& what) override { answers.push_back(what); }
  void remind(const work::Reminder&) override {}
  bool outlasts_sources() const override { return true; }
  bool is_through() const { return next_ == steps_.size(); }

  work::DeskView last;
  std::vector<std::string> answers;

 private:
  std::vector<Step> steps_;
  std::size_t next_ = 0;
};

class DeskSessionTest : public testing::Test {
 protected:
  void SetUp() override {
    fs::remove_all(folder_);
    fs::create_directories(folder_);
    std::ofstream{path("sheet.toml")} << kSheet;
    std::ofstream{path("bytes")};
  }
  void TearDown() override { fs::remove_all(folder_); }

  std::string path(const std::string& name) const { return (folder_ / name).string(); }

  DeskRequest request() const {
    DeskRequest request;
    request.sources.push_back({"r1", "file:" + path("bytes"), false});
    request.sheets = {path("sheet.toml")};
    request.keep_file = path("desk.bytes");
    request.how_long = Duration::seconds(20);
    request.clock = now;
    return request;
  }

  /// Appends one report to what the source holds.
  void report(std::uint32_t node, std::uint16_t counter, std::int8_t rssi = -60) {
    fleet::Octets frame{static_cast<std::uint8_t>(node >> 24U),
                        static_cast<std::uint8_t>(node >> 16U),
                        static_cast<std::uint8_t>(node >> 8U),
                        static_cast<std::uint8_t>(node),
                        static_cast<std::uint8_t>(counter >> 8U),
                        static_cast<std::uint8_t>(counter),
                        static_cast<std::uint8_t>(rssi),
                        8,
                        92};
    const fleet::Octets stuffed = wire::hdlc_encode(frame);
    std::ofstream out{path("bytes"), std::ios::binary | std::ios::app};
    out.write(reinterpret_cast<const char*>(stuffed.data()),
              static_cast<std::streamsize>(stuffed.size()));
    ++sent_;
  }

  static const work::DeskRow* row_of(const work::DeskView& view, const std::string& address) {
    for (const work::DeskRow& row : view.rows) {
      if (row.address == address) return &row;
    }
    return nullptr;
  }
  static std::uint64_t heard(const work::DeskView& view) {
    std::uint64_t reports = 0;
    for (const work::DeskRow& row : view.rows) reports += row.reports;
    return reports;
  }
  auto all_heard() {
    return [this](const work::DeskView& view) { return heard(view) == sent_; };
  }

  std::uint64_t sent_ = 0;

 private:
  fs::path folder_ = fs::temp_directory_path() / ("fieldfare-desk-" + std::to_string(::getpid()));
};

using Deeds = std::vector<work::Deed>;

TEST_F(DeskSessionTest, WhatIsSavedHoldsEveryReportAndIsJudgedTheSame) {
  std::vector<judge::FirstVerdict> verdicts;
  ScriptedHost host{{
      {[](const auto& view) { return !view.sources.empty() && view.sources[0].is_up; },
       [this](const auto&) {
         report(0x02AA5CE7, 40);
         report(0x02AA0003, 7);
         return Deeds{work::TypedLabel{"5CE7"}, work::DoProvoke{"5CE7"}};
       }},
      {all_heard(),
       [this](const auto&) {
         report(0x02AA5CE7, 1);
         return Deeds{};
       }},
      {all_heard(),
       [](const auto& view) {
         return Deeds{work::DoName{row_of(view, "02AA5CE7")->key, "cave 1 north"},
                      work::DoNote{row_of(view, "02AA0003")->key, "no label on it"}};
       }},
      {[](const auto&) { return true; },
       [this, &verdicts](const auto& view) {
         for (const work::DeskRow& row : view.rows) verdicts.push_back(row.verdict);
         return Deeds{work::DoSave{path("site")}};
       }},
      {[](const auto& view) { return !view.saved_in.empty(); },
       [this](const auto&) {
         report(0x02AA0003, 8);
         return Deeds{};
       }},
      {all_heard(), [](const auto&) { return Deeds{work::DoLeave{}}; }},
  }};
  const auto outcome = run_desk(request(), host);
  ASSERT_TRUE(outcome) << outcome.error().complaints.front().text();
  ASSERT_TRUE(host.is_through()) << "answers: " << testing::PrintToString(host.answers);

  const auto site = open_site(path("site"));
  ASSERT_TRUE(site) << site.error().complaints.front().text();
  ASSERT_EQ(site->site.nodes.size(), 2U);
  EXPECT_EQ(site->site.nodes[0].name, "cave 1 north");
  EXPECT_EQ(site->site.nodes[0].label, "5CE7");
  EXPECT_EQ(site->site.nodes[1].name, "node 0003");

  const auto judged = judge_store({}, path("site"), site->site);
  ASSERT_TRUE(judged);
  std::uint64_t reports = 0;
  for (const auto& node : judged->verdict.nodes) reports += node.evidence.heard.reports;
  EXPECT_EQ(reports, sent_);
  const auto& proven = judged->verdict.nodes[0];
  EXPECT_EQ(judged->labels->label(proven.evidence.node).name, "cave 1 north");
  const auto identity_of = [](const auto& of) {
    return std::find_if(of.verdicts.begin(), of.verdicts.end(), [](const judge::Verdict& verdict) {
      return verdict.claim == judge::Claim::identity;
    });
  };
  ASSERT_NE(identity_of(verdicts[0]), verdicts[0].verdicts.end());
  EXPECT_EQ(identity_of(verdicts[0])->outcome, judge::Outcome::met);
  ASSERT_NE(identity_of(proven), proven.verdicts.end());
  EXPECT_EQ(identity_of(proven)->outcome, judge::Outcome::met);
  EXPECT_EQ(identity_of(proven)->why, identity_of(verdicts[0])->why);
}

TEST_F(DeskSessionTest, AnInterruptedDeskIsGoneOnWith) {
  ScriptedHost first{{
      {[](const auto& view) { return !view.sources.empty() && view.sources[0].is_up; },
       [this](const auto&) {
         report(0x02AA5CE7, 40);
         return Deeds{work::DoProvoke{"5CE7"}};
       }},
      {all_heard(),
       [](const auto& view) {
         return Deeds{work::DoName{row_of(view, "02AA5CE7")->key, "cave 1"}, work::DoLeave{}};
       }},
  }};
  ASSERT_TRUE(run_desk(request(), first));
  ASSERT_TRUE(first.is_through());
  fs::resize_file(path("bytes"), 0);
  ScriptedHost second{{{[](const auto& view) { return !view.rows.empty(); },
                        [](const auto&) { return Deeds{work::DoLeave{}}; }}}};
  ASSERT_TRUE(run_desk(request(), second));
  ASSERT_TRUE(second.is_through());
  const work::DeskRow* row = row_of(second.last, "02AA5CE7");
  ASSERT_NE(row, nullptr);
  EXPECT_EQ(row->name, "cave 1");
  EXPECT_EQ(row->digits, "5CE7");
  EXPECT_EQ(row->reports, 1U);
}

TEST_F(DeskSessionTest, SavingIntoAFolderInUseIsRefusedAndNothingIsLost) {
  fs::create_directories(path("site/mine"));
  ScriptedHost host{{
      {[](const auto& view) { return !view.sources.empty() && view.sources[0].is_up; },
       [this](const auto&) {
         report(0x02AA5CE7, 40);
         report(0x02AA5CE7, 41);
         return Deeds{};
       }},
      {all_heard(), [this](const auto&) { return Deeds{work::DoSave{path("site")}}; }},
      {[](const auto&) { return true; }, [](const auto&) { return Deeds{work::DoLeave{}}; }},
  }};
  const auto outcome = run_desk(request(), host);
  ASSERT_TRUE(outcome);
  EXPECT_TRUE(outcome->view.saved_in.empty());
  EXPECT_THAT(host.answers, testing::Contains(testing::HasSubstr("not empty")));
  EXPECT_TRUE(fs::exists(path("site/mine")));
  EXPECT_TRUE(fs::exists(path("desk.bytes")));
}

TEST(KeepFileName, HasDateAndTime) {
  EXPECT_EQ(keep_file_name(*parse_rfc3339("2026-11-25T14:32:07.9Z")),
            "fieldfare-20261125-143207.bytes");
}

}  // namespace
}  // namespace fieldfare::app
