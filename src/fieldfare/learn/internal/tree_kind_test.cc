// SPDX-License-Identifier: Apache-2.0
// Documents of Tarn Dairy, invented; what must be found is how each was made up.
#include <fmt/format.h>
#include <gtest/gtest.h>

#include <functional>
#include <nlohmann/json.hpp>

#include "fieldfare/learn/internal/kinds.h"
#include "fieldfare/learn/internal/learn_test_support.h"
#include "fieldfare/learn/internal/tree_flat.h"

namespace fieldfare::learn {
namespace {

using fleet::AtPointer;
using fleet::AtRecord;
using fleet::FieldRole;
using Json = nlohmann::json;
using test::field_of;
using test::finding_of;

Sample in_lines(int count, const std::function<Json(int)>& document) {
  std::string text;
  for (int i = 0; i < count; ++i) text += document(i).dump() + '\n';
  return test::lines_of(text);
}

Learnt learnt(const Sample& sample) {
  const auto explained = learn_tree(sample);
  EXPECT_TRUE(explained.has_value());
  if (!explained || !explained->learnt.frame) return {};
  EXPECT_TRUE(fleet::faults_of(*explained->learnt.frame).empty());
  return explained->learnt;
}

/// An uplink as network servers hand it on.
Json uplink(int i) {
  return {{"deviceInfo",
           {{"devEui", fmt::format("024d21000000{:04x}", 0x5ce0 + i % 3)}, {"applicationId", 7}}},
          {"time", fmt::format("2026-01-01T00:{:02}:00Z", i)},
          {"fCnt", 40 * (i % 3) + i / 3},
          {"rxInfo", {{{"gatewayId", "loft"}, {"rssi", -80 - i % 17}, {"snr", i % 9 - 3.5}}}},
          {"data", fmt::format("AQID{:02}A=", i)},
          {"object", {{"temperature", 4 + i % 7 * 0.25}, {"battery_mv", 3610 - i % 5}}}};
}

TEST(LearnTree, FindsThingsInNestedObjects) {
  const Learnt found = learnt(in_lines(45, uplink));
  EXPECT_EQ(found.frame->body, fleet::Body::json);
  EXPECT_EQ(found.frame->framing, fleet::Framing::line);
  EXPECT_EQ(field_of(found, FieldRole::address).place,
            (fleet::FieldPlace{AtPointer{"/deviceInfo/devEui"}}));
  EXPECT_EQ(field_of(found, FieldRole::sequence).place, (fleet::FieldPlace{AtPointer{"/fCnt"}}));
  EXPECT_EQ(field_of(found, FieldRole::receiver).place,
            (fleet::FieldPlace{AtPointer{"/rxInfo/0/gatewayId"}}));
  EXPECT_EQ(field_of(found, FieldRole::rssi).place,
            (fleet::FieldPlace{AtPointer{"/rxInfo/0/rssi"}}));
  EXPECT_EQ(field_of(found, FieldRole::snr).place, (fleet::FieldPlace{AtPointer{"/rxInfo/0/snr"}}));
  EXPECT_EQ(field_of(found, FieldRole::time).place, (fleet::FieldPlace{AtPointer{"/time"}}));
  EXPECT_EQ(field_of(found, FieldRole::supply).conversion.scale, 0.001);
  EXPECT_EQ(test::reading_of(found, "temperature_c").place,
            (fleet::FieldPlace{AtPointer{"/object/temperature"}}));
  EXPECT_EQ(finding_of(found, "counter").sureness, Sureness::certain);
  EXPECT_EQ(found.nodes.size(), 3U);
  EXPECT_NE(finding_of(found, "body").what.find("/data"), std::string::npos)
      << "a frame within is told";
}

TEST(LearnTree, LearnsFromMessagesInJsonAndInCbor) {
  for (const bool cbor : {false, true}) {
    Sample sample;
    for (int i = 0; i < 12; ++i) {
      const Json document = uplink(i);
      const std::string text = document.dump();
      fleet::Octets octets{text.begin(), text.end()};
      if (cbor) octets = Json::to_cbor(document);
      sample.arrivals.push_back({{}, octets, true, {}});
    }
    const Learnt found = learnt(sample);
    EXPECT_EQ(found.frame->body, cbor ? fleet::Body::cbor : fleet::Body::json);
    EXPECT_EQ(found.frame->framing, fleet::Framing::none);
    EXPECT_EQ(field_of(found, FieldRole::sequence).place, (fleet::FieldPlace{AtPointer{"/fCnt"}}));
    EXPECT_EQ(found.sound, 12U);
  }
}

TEST(LearnTree, FindsTheListOfReports) {
  const Learnt found = learnt(in_lines(30, [](int i) {
    Json reports = Json::array();
    for (int k = 0; k <= i % 3; ++k)
      reports.push_back({{"id", fmt::format("vat{}", k)}, {"n", i}, {"t", 4 + i % 5 * 0.5}});
    return Json{{"from", "loft"}, {"reports", reports}};
  }));
  EXPECT_EQ(found.frame->each, "/reports");
  EXPECT_EQ(field_of(found, FieldRole::name).place, (fleet::FieldPlace{AtPointer{"/id"}}));
  EXPECT_EQ(test::reading_of(found, "temperature_c").place, (fleet::FieldPlace{AtPointer{"/t"}}));
}

TEST(LearnTree, KnowsSenml) {
  const Learnt found = learnt(in_lines(30, [](int i) {
    return Json{{{"bn", fmt::format("urn:dev:mac:024d2100000000{:02x}:", 0x5c + i % 2)},
                 {"bt", 1'767'225'600 + 60 * i},
                 {"n", "temperature"},
                 {"u", "Cel"},
                 {"v", 4 + i % 5 * 0.5}},
                {{"n", "seq"}, {"v", i / 2}}};
  }));
  EXPECT_EQ(found.frame->body, fleet::Body::senml_json);
  EXPECT_EQ(field_of(found, FieldRole::address).place, (fleet::FieldPlace{AtRecord{}}));
  EXPECT_EQ(field_of(found, FieldRole::sequence).place, (fleet::FieldPlace{AtRecord{"seq"}}));
  EXPECT_EQ(test::reading_of(found, "temperature_c").place,
            (fleet::FieldPlace{AtRecord{"temperature"}}));
  EXPECT_EQ(test::finding_about(found, "temperature_c").sureness, Sureness::likely)
      << "the pack says its unit";
  EXPECT_EQ(found.nodes, (std::vector<std::string>{"024D21000000005C", "024D21000000005D"}));
  EXPECT_EQ(found.sound, 30U);
}

TEST(LearnTree, MarksTheValuesOfOneDocument) {
  const Learnt found = learnt(in_lines(20, [](int i) {
    return Json{{"node", fmt::format("vat{}", i % 2)}, {"seq", 70 + i / 2}, {"shut", i % 3 == 0}};
  }));
  const std::string example{found.example.begin(), found.example.end()};
  ASSERT_EQ(found.marks.size(), 3U);
  EXPECT_EQ(example.substr(found.marks[0].from, found.marks[0].to - found.marks[0].from), "vat0");
  EXPECT_EQ(example.substr(found.marks[1].from, found.marks[1].to - found.marks[1].from), "70");
  EXPECT_EQ(found.marks[2].what, "shut_bool");
}

TEST(LearnTree, LeavesOutWhatIsSometimesNull) {
  const Learnt found = learnt(in_lines(20, [](int i) {
    Json document{{"node", fmt::format("vat{}", i % 2)}, {"seq", i / 2}, {"humidity", 50 + i % 7}};
    if (i % 5 == 0) document["humidity"] = nullptr;
    return document;
  }));
  EXPECT_TRUE(test::reading_of(found, "humidity_pct").optional);
  EXPECT_EQ(found.sound, 20U);
}

TEST(LearnTree, LeavesLinesThatAreNoDocumentsToOthers) {
  EXPECT_FALSE(learn_tree(test::lines_of("1\n2\n3\n4\n")));
  EXPECT_FALSE(learn_tree(test::lines_of("node 3, message 4\nnode 3, message 5\n")));
  EXPECT_FALSE(learn_tree(test::lines_of("{\n{\n{\n")));
  EXPECT_FALSE(learn_tree({}));
}

TEST(LearnTree, StopsAtNestingThatNobodySends) {
  const std::string deep(100'000, '[');
  EXPECT_FALSE(flat_json(deep));
  EXPECT_FALSE(flat_cbor(std::string(100'000, '\x81')));
  EXPECT_FALSE(flat_json("{\"a\": [" + std::string(2'000, '1') + "]"));
}

TEST(FlatJson, WritesPointersAsRfc6901Does) {
  const auto flat = flat_json(R"({"a/b": {"m~n": [1, {"": null, "x": "7"}]}})");
  ASSERT_TRUE(flat);
  ASSERT_EQ(flat->leaves.size(), 2U);
  EXPECT_EQ(flat->leaves[0].pointer, "/a~1b/m~0n/0");  // RFC 6901 section 5: a/b and m~n
  EXPECT_EQ(flat->leaves[1].pointer, "/a~1b/m~0n/1/x");
  EXPECT_EQ(flat->leaves[1].cell.number, 7);
}

}  // namespace
}  // namespace fieldfare::learn
