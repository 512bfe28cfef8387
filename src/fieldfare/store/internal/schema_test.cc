// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/store/internal/schema.h"

#include <gmock/gmock.h>

#include <fstream>
#include <vector>

#include "fieldfare/store/internal/store_fixture.h"
#include "fieldfare/store/internal/stretch.h"

namespace fieldfare::store {
namespace {

using testing::HasSubstr;

/// The released migrations and made-up ones behind them.
class MigrationTest : public StoreFixture {
 protected:
  void migrate_with(std::initializer_list<const char*> more) const {
    std::vector<Migration> all{migrations().begin(), migrations().end()};
    for (const char* sql_of_one : more) all.push_back({sql_of_one});
    Database database{file, Database::Access::write, {}};
    migrate(database, all);
  }

  std::string version() const { return sql_text("PRAGMA user_version"); }
};

constexpr const char* kAdds = "ALTER TABLE node ADD COLUMN place TEXT DEFAULT 'loft'";
constexpr const char* kAddsMore = "CREATE TABLE round(id INTEGER PRIMARY KEY)";
constexpr const char* kFailsHalfWay = "CREATE TABLE half(id INTEGER); INSERT INTO absent VALUES(1)";

TEST_F(MigrationTest, BringsAnOlderFileUpToDateAndKeepsWhatIsInIt) {
  {
    Store store = opened();
    store_all(store, {{.node = "02AA"}});
  }
  EXPECT_EQ(version(), "2");
  migrate_with({kAdds, kAddsMore});
  EXPECT_EQ(version(), "4");
  EXPECT_EQ(sql_text("SELECT name || ' ' || place FROM node"), "02AA loft");
  EXPECT_EQ(sql_text("SELECT count(*) FROM hearing"), "1");
  migrate_with({kAdds, kAddsMore});  // nothing is left to do
  EXPECT_EQ(version(), "4");
}

TEST_F(MigrationTest, ThatFailsLeavesTheFileAsItWas) {
  { Store store = opened(); }
  EXPECT_THROW(migrate_with({kAdds, kFailsHalfWay}), Fault);
  EXPECT_EQ(version(), "2");
  EXPECT_EQ(sql_text("SELECT count(*) FROM pragma_table_info('node') WHERE name = 'place'"), "0");
  EXPECT_EQ(sql_text("SELECT count(*) FROM sqlite_schema WHERE name = 'half'"), "0");
  EXPECT_EQ(complaint_of_opening(Mode::write), "");
}

TEST_F(MigrationTest, OfANewerProgramIsNotTouchedAndSaysSo) {
  { Store store = opened(); }
  migrate_with({kAdds});
  for (const Mode mode : {Mode::read, Mode::write}) {
    EXPECT_THAT(complaint_of_opening(mode), HasSubstr("newer program (schema version 3"));
  }
  EXPECT_EQ(version(), "3");
}

/// A file as the first version left it: one packed stretch, and a hearing behind it.
class FirstVersionTest : public MigrationTest {
 protected:
  FirstVersionTest() {
    std::ofstream{file};
    Database database{file, Database::Access::write, {}};
    migrate(database, migrations().first(1));
    database.run("INSERT INTO node(id, address, name) VALUES(7, '02AA', 'gate')");
    database.run("INSERT INTO receiver(id, name) VALUES(3, 'r1')");
    std::vector<Row> rows;
    for (std::int64_t arrival = 1; arrival <= kStretchRows; ++arrival) {
      Row row{.arrival = arrival, .time_ns = arrival * 1'000, .node = 7, .receiver = 3};
      row.has = Row::kHasSequence | Row::kImplausible;
      row.sequence = static_cast<std::uint64_t>(arrival);
      rows.push_back(row);
    }
    database.run(
        "INSERT INTO hearing(arrival, node, receiver, time_ns, seq, implausible)"
        " WITH RECURSIVE n(a) AS (VALUES(1) UNION ALL SELECT a + 1 FROM n WHERE a < 4097)"
        " SELECT a, 7, 3, a * 1000, a, 1 FROM n");
    Statement put = database.prepare("INSERT INTO stretch(number, packed) VALUES(0, ?)");
    const std::string packed = pack_stretch(rows);
    put.bind_bytes(1, packed);
    put.run();
  }
};

TEST_F(FirstVersionTest, IsBroughtUpToDateWithAllThatIsInIt) {
  EXPECT_EQ(version(), "1");
  EXPECT_THAT(complaint_of_opening(Mode::read), HasSubstr("older program"));
  Store store = opened();
  EXPECT_EQ(version(), "2");
  EXPECT_EQ(sql_text("SELECT count(*) FROM stretch"), "1") << "what is packed stays readable";
  const std::vector<Found> found = scanned(store);
  ASSERT_EQ(found.size(), 4097);
  for (const Found& one : found) {
    ASSERT_EQ(one.hearing.sequence, static_cast<std::uint64_t>(one.arrival));
    ASSERT_TRUE(one.hearing.implausible);
    ASSERT_FALSE(one.hearing.batched) << "nobody knew of that then";
  }
  EXPECT_TRUE(store.listening()->empty());
  EXPECT_TRUE(store.receiver_sources()->empty());
  const fleet::NodeLabel& gate = labels.label(*labels.node("02AA"));
  EXPECT_FALSE(gate.shared_counter);
  EXPECT_FALSE(gate.sequence_bits);
}

TEST_F(FirstVersionTest, TakesWhatListeningKeepsOnceItIsUpToDate) {
  Store store = opened();
  ASSERT_TRUE(store.load_labels(labels));
  Writer writer{store};
  fleet::Hearing late = hearing({.node = "02AA", .time_ns = 9'000'000, .seq = 9'000});
  late.batched = true;
  ASSERT_TRUE(writer.append(late, labels));
  writer.came_through(*labels.receiver("r1"), "r1");
  writer.listened("r1", {1}, {2});
  EXPECT_EQ(commit(writer).last_arrival, 4098);
  EXPECT_TRUE(scanned(store).back().hearing.batched);
  EXPECT_EQ(sql_text("SELECT group_concat(batched) FROM hearings WHERE arrival > 4096"), "0,1");
  EXPECT_EQ(store.listening()->size(), 1);
  EXPECT_EQ(sql_text("SELECT count(*) FROM receiver"), "1");
}

TEST_F(MigrationTest, IsNotDoneByAReaderWhichSaysWhatWouldDoIt) {
  { Store store = opened(); }
  std::vector<Migration> all{migrations().begin(), migrations().end()};
  all.push_back({kAdds});
  Database database{file, Database::Access::read, {}};
  try {
    check_version(database, all);
    ADD_FAILURE() << "an older schema was read as if it were the present one";
  } catch (const Fault& fault) {
    EXPECT_THAT(fault.what, HasSubstr("older program"));
    EXPECT_THAT(fault.remedy, HasSubstr("for writing"));
  }
}

TEST_F(MigrationTest, SaysWhichProgramMadeTheFile) {
  { Store store = opened(); }
  EXPECT_THAT(sql_text("SELECT value FROM meta WHERE key = 'program'"),
              testing::MatchesRegex("[0-9]+[.][0-9]+[.][0-9]+"));
}

struct TextOfTime {
  std::int64_t ns;
  const char* text;
};

// RFC 3339 section 5.8 prints the first and third; the others: exact cases.
constexpr TextOfTime kTimes[] = {
    {482'196'050'520'000'000, "1985-04-12T23:20:50.520Z"},
    {0, "1970-01-01T00:00:00Z"},
    {851'042'397'000'000'000, "1996-12-20T00:39:57Z"},
    {-1, "1969-12-31T23:59:59.999999999Z"},
    {-1'000'000'000, "1969-12-31T23:59:59Z"},
    {1'000, "1970-01-01T00:00:00.000001Z"},
    {1'000'000'000'000'000'001, "2001-09-09T01:46:40.000000001Z"},
};

TEST_F(MigrationTest, ViewsWriteTimesAsTheProgramDoes) {
  { Store store = opened(); }
  for (const TextOfTime& row : kTimes) {
    EXPECT_EQ(to_rfc3339({row.ns}), row.text);
    EXPECT_EQ(sql_text("SELECT " + rfc3339_sql("t") + " FROM (SELECT " + std::to_string(row.ns) +
                       " AS t)"),
              row.text);
  }
}

}  // namespace
}  // namespace fieldfare::store
