// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/judge_json.h"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <string>

#include "fieldfare/render/internal/dairy_fixture.h"
#include "fieldfare/render/internal/json_writer.h"

namespace fieldfare::render {
namespace {

using internal::DairyFixture;
using internal::JsonWriter;
using nlohmann::json;

TEST(JudgeJson, HasTheAgreedKeysAndValues) {
  const DairyFixture dairy;
  const json document = json::parse(judge_json(dairy.view()));
  EXPECT_EQ(document["schema"], "fieldfare/judge/1");
  EXPECT_EQ(document["from"], "2026-03-02T06:00:00Z");
  EXPECT_EQ(document["to"], "2026-03-02T06:08:00Z");
  EXPECT_EQ(document["rows_read"], 25);
  EXPECT_EQ(document["rows_skipped"], 1);
  EXPECT_EQ(document["receiver_silences"][0]["receiver"], "office");
  EXPECT_EQ(document["receiver_silences"][0]["missed"], 6585);
  EXPECT_FALSE(document["receiver_silences"][0].contains("listening")) << "it is the receiver's";

  const json& node = document["nodes"][0];
  EXPECT_EQ(node["node"], "cave 1 north");
  EXPECT_EQ(node["address"], "024D210000005CE7");
  EXPECT_EQ(node["heard"]["duplicates"], 1);
  EXPECT_EQ(node["sequence"]["resets"][0],
            json({{"at", "2026-03-02T06:07:00Z"}, {"kind", "stood_still"}}));
  EXPECT_EQ(node["sequence"]["longest_gap_s"], 120.5);
  EXPECT_EQ(node["cadence"]["interval_s"], 60.25);
  EXPECT_EQ(node["cadence"]["low"], 60.1);
  EXPECT_EQ(node["delivery"]["ratio"], 0.875);
  EXPECT_EQ(node["margin"]["margin_db"], 16.5);
  EXPECT_EQ(node["supply"]["last_v"], 3.1);
  EXPECT_EQ(document["nodes"][1]["claims"][0]["needs"],
            json({{"reports", 35}, {"seconds", 2108.75}}));
}

TEST(JudgeJson, TellsOurOwnDeafnessApartFromAReceiversSilence) {
  DairyFixture dairy;
  dairy.verdict.receiver_silences.front().listening = false;
  const json document = json::parse(judge_json(dairy.view()));
  EXPECT_EQ(document["receiver_silences"][0]["listening"], false);
}

TEST(JudgeJson, LeavesOutWhatHasNoBasis) {
  DairyFixture dairy;
  judge::NodeVerdict& node = dairy.verdict.nodes[0];
  node.delivery.reset();
  node.margin.reset();
  node.evidence.sequence.reset();
  node.evidence.cadence.reset();
  node.evidence.supply_last_v.reset();
  const json shown = json::parse(judge_json(dairy.view()))["nodes"][0];
  for (const char* key : {"delivery", "margin", "sequence", "cadence", "supply"}) {
    EXPECT_FALSE(shown.contains(key)) << key;
  }
}

TEST(JudgeJson, OfNothingHeardIsStillADocument) {
  DairyFixture dairy;
  dairy.verdict = {};
  const json document = json::parse(judge_json(dairy.view()));
  EXPECT_TRUE(document["nodes"].empty());
  EXPECT_FALSE(document.contains("from"));
}

TEST(JudgeJson, DiffersInRunFactsAloneWhenReadInPieces) {
  DairyFixture dairy;
  json before = json::parse(judge_json(dairy.view()));
  dairy.run = {};
  dairy.run.rows_read = 99;
  json after = json::parse(judge_json(dairy.view()));
  for (json* document : {&before, &after}) {
    for (const char* key : {"rows_read", "rows_skipped", "skipped", "skipped_by_reason"}) {
      document->erase(key);
    }
  }
  EXPECT_EQ(before.dump(), after.dump());
}

TEST(JudgeJson, SaysWhatWasAskedForWhereItWasNarrower) {
  DairyFixture dairy;
  dairy.question.from = DairyFixture::at(60);
  dairy.run.rows_outside = 3;
  const json document = json::parse(judge_json(dairy.view()));
  EXPECT_EQ(document["from"], "2026-03-02T06:01:00Z");
  EXPECT_EQ(document["rows_outside"], 3);
}

TEST(JsonWriter, WritesTheShortestNumberThatReadsBackTheSame) {
  JsonWriter writer;
  writer.open_array();
  for (const double x : {0.1, 1.0, 5e-324, 1.7976931348623157e308, 9007199254740993.0}) {
    writer.put({}, x);
  }
  writer.close_array();
  const json read = json::parse(writer.finish());
  EXPECT_EQ(read[0].get<double>(), 0.1);
  EXPECT_EQ(read[2].get<double>(), 5e-324);
  EXPECT_EQ(read[3].get<double>(), 1.7976931348623157e308);
}

TEST(JsonWriter, NeverWritesWhatIsNoNumber) {
  JsonWriter writer;
  writer.open_object();
  writer.put("a", std::nan(""));
  writer.put("b", std::numeric_limits<double>::infinity());
  writer.close_object();
  EXPECT_EQ(writer.finish(), "{}\n");
}

TEST(JsonWriter, EscapesWhatJsonDoesNotAllow) {
  JsonWriter writer;
  writer.open_array();
  writer.put({}, "say \"\\\"\n\x1b");
  writer.put({}, "broken \xC3");
  writer.put({}, "Käse");
  writer.close_array();
  const json read = json::parse(writer.finish());
  EXPECT_EQ(read[0], "say \"\\\"\n\x1b");
  EXPECT_EQ(read[1], "broken \uFFFD");
  EXPECT_EQ(read[2], "Käse");
}

}  // namespace
}  // namespace fieldfare::render
