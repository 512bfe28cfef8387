// SPDX-License-Identifier: Apache-2.0
// docs/formats/log.md and docs/schema/log-row.schema.json say what the code does.
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <string>

#include "fieldfare/wire/internal/trouble.h"
#include "fieldfare/wire/test_support.h"

namespace fieldfare::wire {
namespace {

using nlohmann::json;

std::string read_file(const std::string& name) {
  std::ifstream file{std::string{FIELDFARE_SOURCE_DIR} + "/docs/" + name, std::ios::binary};
  EXPECT_TRUE(file) << name;
  return {std::istreambuf_iterator<char>{file}, {}};
}

/// The first block of the document fenced as `language`.
std::string block(const std::string& document, const std::string& language) {
  const std::string fence = "```" + language + "\n";
  const std::size_t begin = document.find(fence) + fence.size();
  return document.substr(begin, document.find("```", begin) - begin);
}

TEST(LogDocument, ItsCsvExampleGivesWhatItSays) {
  const test::Outcome outcome = test::read(block(read_file("formats/log.md"), "csv"));
  EXPECT_EQ(outcome.heard.size(), 2u);
  EXPECT_EQ(outcome.nodes_known, 1u);
  EXPECT_EQ(outcome.notes.size(), 1u);
  EXPECT_EQ(outcome.skipped(), (std::vector<std::string>{"4 bad-number", "5 clock-not-believed"}));
  EXPECT_EQ(outcome.ledger.quoted()[0].place.column, 46u);
}

TEST(LogDocument, ItsJsonExampleIsTheFirstHearingOfTheOther) {
  const std::string document = read_file("formats/log.md");
  const test::Outcome from_csv = test::read(block(document, "csv"));
  const test::Outcome from_json = test::read(block(document, "json"));
  ASSERT_EQ(from_json.heard.size(), 1u);
  EXPECT_EQ(from_json.heard[0], from_csv.heard[0]);
}

TEST(LogDocument, ListsEveryReason) {
  const std::string document = read_file("formats/log.md");
  for (int i = 1; i <= static_cast<int>(Trouble::too_many_keys); ++i) {
    const std::string code{words_for(static_cast<Trouble>(i)).code};
    EXPECT_NE(document.find("`" + code + "`"), std::string::npos) << code;
  }
}

/// Whether the value has the type, or one of the types, that a schema names.
bool has_type(const json& value, const json& types) {
  const auto is = [&](const std::string& type) {
    return (type == "string" && value.is_string()) || (type == "number" && value.is_number()) ||
           (type == "integer" && value.is_number_integer()) || (type == "null" && value.is_null());
  };
  if (types.is_string()) return is(types);
  return std::any_of(types.begin(), types.end(), is);
}

TEST(LogRowSchema, FitsTheExampleAndTheColumnsOfTheParser) {
  const json schema = json::parse(read_file("schema/log-row.schema.json"));
  const json row = json::parse(block(read_file("formats/log.md"), "json"));
  for (const std::string key : schema["required"]) EXPECT_TRUE(row.contains(key)) << key;
  for (const auto& [name, rule] : schema["properties"].items()) {
    EXPECT_EQ(column_name(column_kind(name)), name);
    if (row.contains(name)) {
      EXPECT_TRUE(has_type(row[name], rule["type"])) << name;
    }
  }
  EXPECT_EQ(schema["properties"].size(), 10u) << "a key for every column that has a fixed name";
}

}  // namespace
}  // namespace fieldfare::wire
