// SPDX-License-Identifier: Apache-2.0
// What was learnt, as JSON, as text and as a sheet. The samples are invented.
#include "fieldfare/render/learn_answer.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>

#include "fieldfare/site/load.h"

namespace fieldfare::render {
namespace {

using fleet::ByteOrder;
using fleet::FieldLayout;
using fleet::FieldRole;
using fleet::NumberForm;
using fleet::NumberKind;
using learn::Learnt;
using learn::Sureness;
using nlohmann::json;

FieldLayout field(std::string name, FieldRole role, fleet::FieldPlace place) {
  FieldLayout made;
  made.name = std::move(name);
  made.role = role;
  made.place = std::move(place);
  return made;
}

Learnt probe() {
  Learnt learnt;
  learnt.frame.emplace();
  learnt.frame->framing = fleet::Framing::hdlc;
  learnt.frame->check = fleet::CheckFacts{.crc = "crc-16/ibm-sdlc", .octets = 2, .at = -2};
  learnt.frame->fields = {
      field("node", FieldRole::address, fleet::AtOctet{0, fleet::OctetsForm{4}}),
      field("seq", FieldRole::sequence, fleet::AtOctet{4, NumberForm{}}),
      field("temperature_c", FieldRole::reading,
            fleet::AtOctet{5, NumberForm{NumberKind::signed_integer, 2, ByteOrder::big, {}}})};
  learnt.frame->fields[2].conversion.scale = 0.01;
  learnt.sequence.bits = 8;
  learnt.sequence.starts_at = 1;
  learnt.fields = {{"temperature_c", {}, 0.01, {}, {}}};
  learnt.findings = {
      {"framing", Sureness::certain, "flags and escapes of RFC 1662", "", {}},
      {"check", Sureness::certain, "CRC-16/IBM-SDLC holds in 40 of 40 frames", "", {}},
      {"counter", Sureness::likely, "octet 4 counts up by one", "a restart", 1},
      {"field", Sureness::guess, "octets 5 and 6: a signed number", "a second value", 2},
      {"network", Sureness::open, "all nodes say the same", "", {}}};
  learnt.example = {0x02, 0x4D, 0x21, 0x05, 0x07, 0x08, 0x5C, 0x3A, 0xF1};
  learnt.marks = {{0, 4, "node"}, {4, 5, "seq"}, {5, 7, "temperature_c"}, {7, 9, "check"}};
  learnt.nodes = {"024D2105", "024D2106"};
  learnt.frames = 40;
  learnt.sound = 39;
  return learnt;
}

bool has_type(const json& value, const std::string& type) {
  if (type == "string") return value.is_string();
  if (type == "integer") return value.is_number_integer();
  if (type == "number") return value.is_number();
  if (type == "boolean") return value.is_boolean();
  if (type == "array") return value.is_array();
  return type == "object" ? value.is_object() : type.empty();
}

/// Where a document breaks the schema, as far as ours use JSON Schema: types, words,
/// keys that must be there and keys that nobody knows.
void expect_fits(const json& value, const json& schema, const std::string& at) {
  EXPECT_EQ(value, schema.value("const", value)) << at;
  const json words = schema.value("enum", json::array({value}));
  EXPECT_NE(std::find(words.begin(), words.end(), value), words.end()) << at << ": " << value;
  const std::string type = schema.value("type", "");
  ASSERT_TRUE(has_type(value, type)) << at << ": " << value;
  if (type == "array") {
    for (const json& each : value) expect_fits(each, schema["items"], at + "[]");
  }
  if (type != "object") return;
  for (const json& key : schema["required"]) {
    EXPECT_TRUE(value.contains(key.get<std::string>())) << at << " lacks " << key;
  }
  for (const auto& [key, inner] : value.items()) {
    ASSERT_TRUE(schema["properties"].contains(key)) << at << " has " << key;
    expect_fits(inner, schema["properties"][key], at + '.' + key);
  }
}

json schema() {
  std::ifstream file{std::string{FIELDFARE_SOURCE_DIR} + "/docs/schema/learn.schema.json"};
  return json::parse(file);
}

TEST(LearnJson, HasTheAgreedKeysAndValues) {
  const json document = json::parse(learn_json(probe(), "the sheet"));
  expect_fits(document, schema(), "document");
  EXPECT_EQ(document["frames"], 40);
  EXPECT_EQ(document["sound"], 39);
  EXPECT_EQ(document["nodes"][1], "024D2106");
  EXPECT_EQ(document["frame"]["framing"], "hdlc");
  EXPECT_EQ(document["frame"]["check"]["kind"], "crc-16/ibm-sdlc");
  EXPECT_EQ(document["frame"]["check"]["at"], -2);
  const json& reading = document["frame"]["fields"][2];
  EXPECT_EQ(reading["type"], "i16be");
  EXPECT_EQ(reading["at"], 5);
  EXPECT_EQ(reading["scale"], 0.01);
  EXPECT_EQ(document["sequence"]["starts_at"], 1);
  EXPECT_EQ(document["findings"][2]["sureness"], "likely");
  EXPECT_EQ(document["findings"][2]["decides"], "a restart");
  EXPECT_EQ(document["findings"][2]["field"], 1);
  EXPECT_EQ(document["example"]["hex"], "02 4D 21 05 07 08 5C 3A F1");
  EXPECT_EQ(document["example"]["marks"][3]["from"], 7);
  EXPECT_EQ(document["sheet"], "the sheet");
}

TEST(LearnJson, OfEveryKindOfFrameFitsItsSchema) {
  Learnt text = probe();
  text.frame->body = fleet::Body::text;
  text.frame->fields = {field("node", FieldRole::name, fleet::AtColumn{0}),
                        field("a_c", FieldRole::reading, fleet::AtKey{"T"}),
                        field("rssi", FieldRole::rssi, fleet::AfterText{"RSSI", {}, 2})};
  expect_fits(json::parse(learn_json(text, "")), schema(), "text");
  Learnt tree = probe();
  tree.frame->body = fleet::Body::json;
  tree.frame->each = "/reports";
  tree.frame->fields = {field("a_c", FieldRole::reading, fleet::AtPointer{"/t"})};
  tree.frame->fields[0].optional = true;
  expect_fits(json::parse(learn_json(tree, "")), schema(), "tree");
  Learnt prefixed = probe();
  prefixed.frame->framing = fleet::Framing::length_prefixed;
  prefixed.frame->start = {0x7E};
  prefixed.frame->prefix = fleet::LengthPrefix{1, 2, ByteOrder::little, -3};
  prefixed.frame->fields[1].equals = fleet::Octets{7};
  std::get<NumberForm>(std::get<fleet::AtOctet>(prefixed.frame->fields[1].place).form).bits =
      fleet::BitSpan{0, 3};
  const json document = json::parse(learn_json(prefixed, ""));
  expect_fits(document, schema(), "prefixed");
  EXPECT_EQ(document["frame"]["prefix"]["adds"], -3);
  EXPECT_EQ(document["frame"]["fields"][1]["bits"], json({0, 3}));
}

TEST(LearnJson, OfNothingFitsItsSchema) {
  const json document = json::parse(learn_json({}, ""));
  expect_fits(document, schema(), "document");
  for (const char* key : {"frame", "sequence", "example", "sheet"}) {
    EXPECT_FALSE(document.contains(key)) << key;
  }
}

TEST(LearnText, TellsCertainFromGuessedAndMarksOneFrame) {
  EXPECT_EQ(learn_text(probe(), {80, false, false}),
            R"(Learnt from 40 frames of 2 nodes; 39 of them hold to all that was found.

Certain
  framing          flags and escapes of RFC 1662
  check            CRC-16/IBM-SDLC holds in 40 of 40 frames

Likely
  seq              octet 4 counts up by one
                   decides: a restart

Guessed
  temperature_c    octets 5 and 6: a signed number
                   decides: a second value

Open
  network          all nodes say the same

Nodes
  024D2105
  024D2106

One frame
    0  02 4D 21 05 07 08 5C 3A F1
       a---------- b- c---- d----
    a  octets 0 to 3    node
    b  octet 4          seq
    c  octets 5 and 6   temperature_c
    d  octets 7 and 8   check
)");
}

TEST(LearnText, FitsTheWidthAndShowsNothingThatIsNotSafe) {
  Learnt learnt = probe();
  learnt.nodes.emplace_back("evil\x1B[2J");
  for (int i = 0; i < 100; ++i) learnt.example.push_back(0x11);
  learnt.marks.push_back({9, 60, "noise"});
  std::istringstream lines{learn_text(learnt, {80, false, false})};
  for (std::string line; std::getline(lines, line);) {
    EXPECT_LE(line.size(), 80u) << line;
    EXPECT_EQ(line.find('\x1B'), std::string::npos) << line;
  }
}

TEST(LearnText, ShowsALineOfTextAsText) {
  Learnt learnt = probe();
  const std::string line = "T=21.4;H=40";
  learnt.example = {line.begin(), line.end()};
  learnt.marks = {{2, 6, "temperature_c"}, {9, 11, "humidity_pct"}};
  const std::string text = learn_text(learnt, {80, false, false});
  EXPECT_NE(text.find("    0  T=21.4;H=40\n         a---   b-\n"), std::string::npos) << text;
}

fleet::NodeSheet load(const std::string& text) {
  const auto loaded = site::load_site({"", "site.name = \"here\"", {{"x.toml", text}}});
  if (!loaded) {
    ADD_FAILURE() << loaded.error().front().text() << '\n' << text;
    return {};
  }
  for (const auto& each : loaded->site.node_sheets) {
    if (each.head.name == "found") return each;
  }
  return {};
}

TEST(LearntSheet, LoadsAndDescribesTheSameFrame) {
  const Learnt learnt = probe();
  const fleet::NodeSheet sheet = load(learnt_sheet(learnt, "found"));
  EXPECT_EQ(sheet.frame, learnt.frame);
  EXPECT_EQ(sheet.sequence.bits, 8);
  EXPECT_EQ(sheet.sequence.starts_at, 1u);
  ASSERT_EQ(sheet.fields.size(), 1u);
  EXPECT_EQ(sheet.fields[0].resolution, 0.01);
  EXPECT_EQ(sheet.head.source, "learnt from 40 frames of 2 nodes");
}

TEST(LearntSheet, SaysBesideEachPartHowSureItIs) {
  const std::string sheet = learnt_sheet(probe(), "found");
  const auto stands_before = [&](const std::string& a, const std::string& b) {
    return sheet.find(a) != std::string::npos && sheet.find(a) < sheet.find(b);
  };
  EXPECT_TRUE(stands_before("#     0  02 4D 21 05 07", "[sheet]")) << sheet;
  EXPECT_TRUE(stands_before("[sheet]", "# Likely: octet 4 counts up by one"));
  EXPECT_TRUE(stands_before("# Likely: octet 4 counts up by one", "[sequence]"));
  EXPECT_TRUE(stands_before("[sequence]", "# Certain: CRC-16/IBM-SDLC"));
  EXPECT_TRUE(stands_before("# Certain: CRC-16/IBM-SDLC", "[frame]"));
  EXPECT_TRUE(stands_before("# Guess: octets 5 and 6", "name = \"temperature_c\""));
  EXPECT_TRUE(stands_before("#   decides: a second value", "name = \"temperature_c\""));
}

}  // namespace
}  // namespace fieldfare::render
