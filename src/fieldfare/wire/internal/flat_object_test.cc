// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/flat_object.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <simdjson.h>

#include <string>
#include <vector>

namespace fieldfare::wire {
namespace {

using Step = FlatObject::Step;

Step walk(std::string_view line, std::vector<FlatObject::Member>* members = nullptr) {
  static FlatObject object;  // used again, as in a log
  object.begin(line);
  FlatObject::Member member;
  Step step = object.next(member, {});
  while (step == Step::member) {
    if (members != nullptr) members->push_back(member);
    step = object.next(member, {});
  }
  return step;
}

struct Row {
  const char* source;
  const char* line;
  Step step;
};
const Row kRows[] = {
    {"RFC 8259 section 4, empty object", "{}", Step::end},
    {"section 2, blanks around tokens", " { \"a\" : 1 , \"b\" : null } ", Step::end},
    {"section 3, literals are lower case", "{\"a\":True}", Step::damaged},
    {"section 3, literals end", "{\"a\":nullx}", Step::damaged},
    {"section 4, no comma after the last", "{\"a\":1,}", Step::damaged},
    {"section 4, members need a colon", "{\"a\" 1}", Step::damaged},
    {"section 4, names are texts", "{a:1}", Step::damaged},
    {"section 6, no leading zeros", "{\"a\":01}", Step::damaged},
    {"section 6, no plus", "{\"a\":+1}", Step::damaged},
    {"section 6, no NaN", "{\"a\":NaN}", Step::damaged},
    {"section 6, digits after the point", "{\"a\":1.}", Step::damaged},
    {"section 7, controls are escaped", "{\"a\":\"\t\"}", Step::damaged},
    {"section 7, known escapes", "{\"a\":\"\\\"\\\\\\/\\b\\f\\n\\r\\t\\u00e9\"}", Step::end},
    {"section 7, unknown escape", "{\"a\":\"\\x\"}", Step::damaged},
    {"section 7, G clef in two halves", "{\"a\":\"\\uD834\\uDD1E\"}", Step::end},
    {"section 8.2, half a character", "{\"a\":\"\\uDEAD\"}", Step::damaged},
    {"section 8.2, half a character", "{\"a\":\"\\uD834x\"}", Step::damaged},
    {"section 8.1, UTF-8 only", "{\"a\":\"\xFF\"}", Step::not_utf8},
    {"nested object", "{\"a\":{}}", Step::nested},
    {"nested array", "{\"a\":[1]}", Step::nested},
    {"an array is no object", "[1]", Step::no_object},
    {"something behind", "{\"a\":1} 2", Step::damaged},
    {"a second object behind", "{}{}", Step::damaged},
    {"cut in a key", "{\"a", Step::damaged},
    {"cut in an escape", "{\"a\":\"\\", Step::damaged},
    {"cut after the value", "{\"a\":1", Step::damaged},
    {"cut after the comma", "{\"a\":1,", Step::damaged},
    {"a quote in single quotes", "{'a':1}", Step::damaged},
};

TEST(FlatObject, KeepsToRfc8259) {
  for (const Row& row : kRows) EXPECT_EQ(walk(row.line), row.step) << row.source << row.line;
}

// RFC 8259 section 7: "the G clef character (U+1D11E) may be represented as \uD834\uDD1E".
TEST(FlatObject, UnescapesTexts) {
  std::vector<FlatObject::Member> members;
  ASSERT_EQ(walk(R"({"\u0061b":"x\n\u00e9\u20ac\uD834\uDD1E\/","c":"plain"})", &members),
            Step::end);
  EXPECT_EQ(members[0].key, "ab");
  EXPECT_EQ(members[0].value, "x\n\xC3\xA9\xE2\x82\xAC\xF0\x9D\x84\x9E/");
  EXPECT_EQ(members[1].value, "plain");
}

TEST(FlatObject, TheGuessAtAKeyChangesNothing) {
  FlatObject object;
  FlatObject::Member member;
  for (const char* guess : {"\"time\"", "\"tim\"", "\"times\"", "\"x\"", ""}) {
    object.begin("{\"time\":\"now\"}");
    ASSERT_EQ(object.next(member, guess), Step::member) << guess;
    EXPECT_EQ(member.key, "time");
    EXPECT_EQ(member.value, "now");
    EXPECT_EQ(object.next(member, guess), Step::end);
  }
}

std::string some_json() {
  return *rc::gen::map(
      rc::gen::container<std::vector<std::string>>(rc::gen::element<std::string>(
          "{", "}", ",", ":", "\"a\"", "\"b\\n\"", "1", "-2.5e3", "null", "true", " ", "\"", "\\",
          "\\u00e9", "\xC3\xA9", "\xC3", "[", "]", "0", "e", "\"long enough to fill a word\"")),
      [](const std::vector<std::string>& parts) {
        std::string all = "{";
        for (const std::string& part : parts) all += part;
        return all;
      });
}

// Reference: the DOM parser of the simdjson library. (It refuses numbers that
// double cannot hold, of which there are none here.)
void expect_as_library(const std::string& line) {
  simdjson::dom::parser parser;
  simdjson::dom::object reference;
  const bool valid = parser.parse(line).get_object().get(reference) == simdjson::SUCCESS;
  std::vector<FlatObject::Member> members;
  const Step step = walk(line, &members);
  if (step == Step::nested) return;
  RC_ASSERT((step == Step::end) == valid);
  if (!valid) return;
  RC_ASSERT(members.size() == reference.size());
  std::size_t i = 0;
  for (const auto& field : reference) {
    RC_ASSERT(members[i].key == field.key);
    std::string_view text;
    if (field.value.get_string().get(text) == simdjson::SUCCESS) {
      RC_ASSERT(members[i].value == text);
    }
    ++i;
  }
}

TEST(FlatObject, AgreesWithALibraryOnAnyMixOfTokens) {
  EXPECT_TRUE(rc::check([] { expect_as_library(some_json()); }));
}

TEST(FlatObject, AgreesWithALibraryOnDamagedRows) {
  const std::string row =
      R"({"time":"2026-03-02T07:15:00Z","node":"K\u00e4se","seq":12,"rssi_dbm":-87.5,"x":null})";
  EXPECT_TRUE(rc::check([&row] {
    std::string line = row;
    const auto at = *rc::gen::inRange<std::size_t>(0, line.size());
    line[at] = *rc::gen::oneOf(rc::gen::arbitrary<char>(), rc::gen::element('"', '\\', ',', '{'));
    expect_as_library(line);
    expect_as_library(row.substr(0, at));
  }));
}

}  // namespace
}  // namespace fieldfare::wire
