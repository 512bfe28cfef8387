// SPDX-License-Identifier: Apache-2.0
// What docs/formats/store.md shows works as shown.

#include <gmock/gmock.h>

#include <fstream>
#include <sstream>

#include "fieldfare/store/internal/store_fixture.h"

namespace fieldfare::store {
namespace {

class DocumentsTest : public StoreFixture {
 protected:
  void store_a_little_of_everything() {
    Store store = opened();
    Writer writer{store};
    const fleet::NodeIndex cave =
        *labels.list_node("cave 1 north", parse_address("024D2100005CE7"));
    fleet::Hearing made = hearing({.time_ns = 1'772'435'700'000'000'000, .seq = 7});
    made.rssi_dbm = -87;
    const fleet::Reading reading{*labels.field("temperature_c"), 11.5};
    made.readings = {&reading, 1};
    ASSERT_TRUE(writer.append(made, labels, *writer.sheet("air-probe-868")));
    writer.listened("r1", {1'772'435'000'000'000'000}, {1'772'435'800'000'000'000});
    writer.keep({{1'772'435'700'000'000'000}, "r1", "bad_check", "the check is wrong", "\x7e", 1});
    SourceTotals totals{.source = "r1", .endpoint = "udp://0.0.0.0:5005", .ledger = {}, .at = {}};
    totals.ledger.unread_by_reason["bad_check"] = 1;
    writer.total(totals);
    commit(writer);
    ASSERT_TRUE(
        store.record_event({0, {1}, "keeper", cave, "stage", "listed", "heard", ""}, labels));
  }

  static std::string page() {
    std::ifstream file{FIELDFARE_SOURCE_DIR "/docs/formats/store.md"};
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
  }

  static std::vector<std::string> blocks(const std::string& text, const std::string& kind) {
    std::vector<std::string> found;
    const std::string begin = "```" + kind + "\n";
    for (std::size_t at = text.find(begin); at != std::string::npos; at = text.find(begin, at)) {
      at += begin.size();
      found.push_back(text.substr(at, text.find("\n```", at) - at));
    }
    return found;
  }
};

TEST_F(DocumentsTest, EveryExampleOfSqlFindsSomething) {
  store_a_little_of_everything();
  const std::vector<std::string> examples = blocks(page(), "sql");
  EXPECT_EQ(examples.size(), 7);
  for (const std::string& example : examples) {
    Database database{file, Database::Access::read, {}};
    EXPECT_TRUE(database.prepare(example).step()) << example;
  }
}

TEST_F(DocumentsTest, EveryTableViewAndColumnIsDescribed) {
  store_a_little_of_everything();
  const std::string text = page();
  Database database{file, Database::Access::read, {}};
  Statement tables = database.prepare(
      "SELECT t.name, c.name FROM sqlite_schema t, pragma_table_info(t.name) c"
      " WHERE t.type IN ('table', 'view') AND t.name NOT LIKE 'sqlite%' AND t.name NOT LIKE "
      "'reading%'");
  std::size_t columns = 0;
  for (; tables.step(); ++columns) {
    EXPECT_THAT(text, testing::HasSubstr(std::string{tables.text(0)}));
    EXPECT_THAT(text, testing::HasSubstr(std::string{tables.text(1)})) << tables.text(0);
  }
  EXPECT_GT(columns, 80);
}

}  // namespace
}  // namespace fieldfare::store
