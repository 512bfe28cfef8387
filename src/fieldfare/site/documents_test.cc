// SPDX-License-Identifier: Apache-2.0
// The grammar is what the loader knows; schemas and documents must say the same.
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <iterator>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <string>

#include "fieldfare/site/internal/grammar.h"
#include "fieldfare/site/load.h"

namespace fieldfare::site {
namespace {

using Json = nlohmann::json;

std::string read_document(const std::string& name) {
  std::ifstream in{FIELDFARE_SOURCE_DIR "/docs/" + name, std::ios::binary};
  EXPECT_TRUE(in) << name;
  return {std::istreambuf_iterator<char>{in}, {}};
}

// --- schemas -------------------------------------------------------------------

void compare_section(const Section& section, const Json& schema, const std::string& where);

void compare_range(const Key& key, const Json& schema, const std::string& where) {
  EXPECT_EQ(schema.at("minimum").get<double>(), key.least) << where;
  EXPECT_EQ(schema.at("maximum").get<double>(), key.most) << where;
}

void compare_words(const Key& key, const Json& schema, const std::string& where) {
  const std::set<std::string> known(key.words.begin(), key.words.end());
  EXPECT_EQ(schema.at("enum").get<std::set<std::string>>(), known) << where;
}

void compare_key(const Key& key, const Json& schema, const std::string& where) {
  const std::string description = schema.value("description", "");
  EXPECT_TRUE(description.starts_with(key.meaning)) << where << ": " << description;
  if (!key.unit.empty()) {
    EXPECT_TRUE(description.ends_with(", in " + std::string{key.unit})) << where;
  }
  switch (key.form) {
    case Form::number:
      EXPECT_EQ(schema.at("type"), "number") << where;
      return compare_range(key, schema, where);
    case Form::whole:
      EXPECT_EQ(schema.at("type"), "integer") << where;
      return compare_range(key, schema, where);
    case Form::number_or_word:
      compare_range(key, schema.at("anyOf").at(0), where);
      return compare_words(key, schema.at("anyOf").at(1), where);
    case Form::numbers:
    case Form::range:
    case Form::position:
      EXPECT_EQ(schema.at("type"), "array") << where;
      return compare_range(key, schema.at("items"), where);
    case Form::number_map:
      return compare_range(key, schema.at("additionalProperties"), where);
    case Form::bits:
      EXPECT_EQ(schema.at("items").at("type"), "integer") << where;
      return compare_range(key, schema.at("items"), where);
    case Form::octets_or_whole:
    case Form::whole_or_name:
      EXPECT_EQ(schema.at("anyOf").at(1).at("type"), "string") << where;
      return compare_range(key, schema.at("anyOf").at(0), where);
    case Form::pan_id:
      EXPECT_EQ(schema.at("anyOf").at(0).at("maximum"), 0xFFFE) << where;
      return;
    case Form::text_or_table:
      EXPECT_EQ(schema.at("anyOf").at(0).at("type"), "string") << where;
      return compare_section(*key.section, schema.at("anyOf").at(1), where);
    case Form::whole_or_table:
      compare_range(key, schema.at("anyOf").at(0), where);
      return compare_section(*key.section, schema.at("anyOf").at(1), where);
    case Form::words:
      EXPECT_EQ(schema.at("additionalProperties").at("type"), "string") << where;
      return;
    case Form::choice:
      return compare_words(key, schema, where);
    case Form::choices:
      return compare_words(key, schema.at("items"), where);
    case Form::flag:
      EXPECT_EQ(schema.at("type"), "boolean") << where;
      return;
    case Form::table:
      return compare_section(*key.section, schema, where);
    case Form::tables:
      return compare_section(*key.section, schema.at("items"), where);
    case Form::named_tables:
      return compare_section(*key.section, schema.at("additionalProperties"), where);
    default:
      EXPECT_EQ(schema.at("type"), "string") << where;
  }
}

void compare_section(const Section& section, const Json& schema, const std::string& where) {
  EXPECT_EQ(schema.at("additionalProperties"), false) << where;
  const Json& properties = schema.at("properties");
  std::set<std::string> known;
  std::set<std::string> required;
  for (const Key& key : section.keys) {
    const std::string name{key.name};
    std::string at = where;
    at.append(".").append(name);
    if (key.form == Form::later) {
      EXPECT_FALSE(properties.contains(name)) << at;
      continue;
    }
    known.insert(name);
    ASSERT_TRUE(properties.contains(name)) << at;
    compare_key(key, properties.at(name), at);
    if (key.form == Form::duration) {
      known.insert(name + "_s");
      ASSERT_TRUE(properties.contains(name + "_s")) << at;
      compare_range(key, properties.at(name + "_s"), at);
    } else if (key.required) {
      required.insert(name);
    }
  }
  std::set<std::string> in_schema;
  for (const auto& [name, unused] : properties.items()) in_schema.insert(name);
  EXPECT_EQ(in_schema, known) << where;
  EXPECT_EQ(schema.value("required", std::set<std::string>{}), required) << where;
}

void expect_schema_says(const std::string& name, const Section& section) {
  const Json schema = Json::parse(read_document("schema/" + name + ".schema.json"));
  EXPECT_EQ(schema.at("$schema"), "https://json-schema.org/draft/2020-12/schema");
  EXPECT_EQ(schema.at("$id"), "fieldfare/" + name + "/1");
  compare_section(section, schema, name);
}

TEST(Schemas, KnowTheKeysOfTheLoaderAndNoOthers) {
  expect_schema_says("site", kSiteFile);
  expect_schema_says("node-sheet", kNodeSheetFile);
  expect_schema_says("receiver-sheet", kReceiverSheetFile);
  expect_schema_says("cell-sheet", kCellSheetFile);
}

// --- documents -----------------------------------------------------------------

using Rows = std::multimap<std::string, std::string>;  ///< key to its row of a table

/// The rows of the tables of keys in a document, each under its section's title.
std::multimap<std::string, Rows> tables_in(const std::string& text) {
  std::multimap<std::string, Rows> tables;
  auto table = tables.end();
  std::size_t from = 0;
  while (from < text.size()) {
    const std::size_t to = std::min(text.find('\n', from), text.size());
    const std::string line = text.substr(from, to - from);
    from = to + 1;
    if (line.starts_with("#")) table = tables.end();
    if (line.starts_with("### `")) {
      table = tables.emplace(line.substr(5, line.rfind('`') - 5), Rows{});
    }
    if (table != tables.end() && line.starts_with("| `")) {
      table->second.emplace(line.substr(3, line.find('`', 3) - 3), line);
    }
  }
  return tables;
}

bool says(const std::string& row, std::string_view part) {
  return row.find(part) != std::string::npos;
}

void expect_row_says(const Key& key, const std::string& row) {
  EXPECT_TRUE(row.ends_with("| " + std::string{key.meaning} + " |")) << row;
  EXPECT_TRUE(says(row, "| " + std::string{key.unit} + " |") || key.unit.empty()) << row;
  EXPECT_EQ(says(row, "| yes |"), key.required) << row;
  if (key.least != key.most) {
    EXPECT_TRUE(says(row, plain_number(key.least) + " to " + plain_number(key.most))) << row;
  }
  for (const std::string_view word : key.words) EXPECT_TRUE(says(row, word)) << row;
}

/// Every section has a table among `tables` with exactly its keys; it is taken out. One
/// that several files share has one table: `told` are those that had theirs.
void expect_tables_say(const Section& section, std::multimap<std::string, Rows>& tables,
                       std::set<const Section*>& told) {
  if (!told.insert(&section).second) return;
  const auto table = tables.find(std::string{section.title});
  ASSERT_NE(table, tables.end()) << section.title;
  std::size_t keys = 0;
  for (const Key& key : section.keys) {
    if (key.form == Form::later) continue;
    ++keys;
    const auto row = table->second.find(std::string{key.name});
    if (row == table->second.end()) {
      ADD_FAILURE() << section.title << " lacks " << key.name;
      continue;
    }
    expect_row_says(key, row->second);
  }
  EXPECT_EQ(table->second.size(), keys) << section.title;
  tables.erase(table);
  for (const Key& key : section.keys) {
    if (key.section) expect_tables_say(*key.section, tables, told);
  }
}

TEST(Documents, HaveATableForEverySectionAndNoOthers) {
  std::set<const Section*> told;
  auto of_site = tables_in(read_document("formats/site.md"));
  expect_tables_say(kSiteFile, of_site, told);
  EXPECT_TRUE(of_site.empty());
  auto of_sheets = tables_in(read_document("formats/sheet.md"));
  expect_tables_say(kNodeSheetFile, of_sheets, told);
  expect_tables_say(kReceiverSheetFile, of_sheets, told);
  expect_tables_say(kCellSheetFile, of_sheets, told);
  EXPECT_TRUE(of_sheets.empty());
}

TEST(Documents, NameWhatIsNotSupportedYet) {
  const std::string site = read_document("formats/site.md");
  const std::string sheet = read_document("formats/sheet.md");
  for (const Key& key : kSiteFile.keys) {
    if (key.form == Form::later) {
      EXPECT_TRUE(says(site, '[' + std::string{key.name})) << key.name;
    }
  }
  for (const Key& key : kNodeSheetFile.keys) {
    if (key.form == Form::later) {
      EXPECT_TRUE(says(sheet, '[' + std::string{key.name})) << key.name;
    }
  }
}

/// The first block of TOML in a document.
std::string first_example(const std::string& text) {
  const std::string_view fence = "```toml\n";
  const std::size_t from = text.find(fence) + fence.size();
  return text.substr(from, text.find("```", from) - from);
}

TEST(Documents, ShowASheetsFrameThatIsReadAsItStands) {
  const std::string sheet = read_document("formats/sheet.md");
  const std::string example = first_example(sheet.substr(sheet.find("## Frames")));
  const auto loaded =
      load_site({"",
                 "site.name = \"here\"",
                 {{"sheets/x.toml", "[sheet]\nname = \"x\"\nkind = \"node\"\n" + example}}});
  if (!loaded) {
    for (const Complaint& each : loaded.error()) ADD_FAILURE() << each.text();
    return;
  }
  const auto& sheets = loaded->site.node_sheets;
  const auto found = std::find_if(sheets.begin(), sheets.end(),
                                  [](const auto& each) { return each.head.name == "x"; });
  ASSERT_TRUE(found != sheets.end() && found->frame);
  EXPECT_EQ(found->frame->framing, fleet::Framing::hdlc);
  EXPECT_EQ(found->frame->fields.size(), 3u);
  ASSERT_EQ(found->fields.size(), 1u);
  EXPECT_EQ(found->fields[0].max_rate_per_min, 2.0);
}

TEST(Documents, WorkedExamplesLoad) {
  const auto loaded =
      load_site({"",
                 first_example(read_document("formats/site.md")),
                 {{"sheets/cave-probe.toml", first_example(read_document("formats/sheet.md"))}}});
  if (!loaded) {
    for (const Complaint& each : loaded.error()) ADD_FAILURE() << each.text();
    return;
  }
  EXPECT_TRUE(loaded->warnings.empty());
  ASSERT_EQ(loaded->site.nodes.size(), 1u);
  ASSERT_TRUE(sheet_of(loaded->site, loaded->site.nodes[0]));
  EXPECT_EQ(sheet_of(loaded->site, loaded->site.nodes[0])->radio.sensitivity_dbm, -104);
}

}  // namespace
}  // namespace fieldfare::site
