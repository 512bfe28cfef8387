// SPDX-License-Identifier: Apache-2.0
// Checkpoints, the history of the roster, and imports.
#include "fieldfare/store/records.h"

#include <gmock/gmock.h>

#include "fieldfare/store/internal/store_fixture.h"

namespace fieldfare::store {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

class CheckpointTest : public StoreFixture {};
class RosterHistoryTest : public StoreFixture {};
class ImportTest : public StoreFixture {};

TEST_F(CheckpointTest, ComesBackByteForByteAndIsReplacedByTheNext) {
  Store store = opened();
  store_all(store, {{.node = "02AA"}, {.node = "02BB"}});
  const std::string bytes{"\0\xff\x01state", 8};
  const fleet::NodeIndex a = *labels.node("02AA");
  ASSERT_TRUE(store.save_checkpoints(
      std::vector<Checkpoint>{{a, 1, 3, "older"}, {std::nullopt, 1, 3, "receivers"}}, labels));
  ASSERT_TRUE(store.save_checkpoints(std::vector<Checkpoint>{{a, 2, 4, bytes}}, labels));

  Store again = opened(Mode::read);
  fleet::Labels other;
  other.node("02CC");  // indexes differ from run to run
  const auto found = again.load_checkpoints(other);
  ASSERT_TRUE(found);
  ASSERT_THAT(*found, SizeIs(2));
  for (const Checkpoint& checkpoint : *found) {
    if (!checkpoint.node) {
      EXPECT_EQ(checkpoint.state, "receivers");
      continue;
    }
    EXPECT_EQ(other.label(*checkpoint.node).name, "02AA");
    EXPECT_EQ(checkpoint.watermark, 2);
    EXPECT_EQ(checkpoint.version, 4);
    EXPECT_EQ(checkpoint.state, bytes);
  }
}

TEST_F(CheckpointTest, OfANodeThatTurnsOutToBeTwoOthersIsLeftOut) {
  Store store = opened();
  store_all(store, {{.node = "024D2100005CE7"}, {.node = "cave 1"}, {.node = "cave 2"}});
  std::vector<Checkpoint> all;
  for (std::uint32_t node = 0; node < 3; ++node) {
    all.push_back({fleet::NodeIndex{node}, 3, 1, labels.label(fleet::NodeIndex{node}).name});
  }
  ASSERT_TRUE(store.save_checkpoints(all, labels));

  fleet::Labels roster;
  roster.list_node("cave 1", parse_address("024D2100005CE7"));
  Store again = opened(Mode::read);
  const auto found = again.load_checkpoints(roster);
  ASSERT_TRUE(found);
  ASSERT_THAT(*found, SizeIs(1)) << "the first two are one node now, whose evidence is neither's";
  EXPECT_EQ((*found)[0].state, "cave 2");
}

TEST_F(RosterHistoryTest, ComesBackInTheOrderItWasRecorded) {
  Store store = opened();
  const fleet::NodeIndex cave = *labels.list_node("cave 1 north", parse_address("024D2100005CE7"));
  const auto first = store.record_event(
      {0, {20}, "keeper", cave, "stage", "listed", "heard", "first report"}, labels);
  const auto second = store.record_event(
      {0, {10}, "keeper", std::nullopt, "site", std::nullopt, "begun", "first day"}, labels);
  ASSERT_TRUE(first);
  ASSERT_TRUE(second);
  EXPECT_LT(*first, *second);

  const auto all = store.roster_history(labels);
  ASSERT_TRUE(all);
  ASSERT_THAT(*all, SizeIs(2));
  EXPECT_EQ((*all)[0].node, cave);
  EXPECT_EQ((*all)[0].before, "listed");
  EXPECT_EQ((*all)[0].after, "heard");
  EXPECT_EQ((*all)[0].why, "first report");
  EXPECT_EQ((*all)[1].before, std::nullopt);
  EXPECT_EQ((*all)[1].at.ns, 10);
  const auto of_cave = store.roster_history(labels, cave);
  ASSERT_TRUE(of_cave);
  EXPECT_THAT(*of_cave, SizeIs(1));
}

TEST_F(RosterHistoryTest, CanNeitherBeChangedNorRemovedNorReplaced) {
  Store store = opened();
  ASSERT_TRUE(store.record_event({0, {1}, "keeper", {}, "stage", {}, "heard", ""}, labels));
  for (const char* attempt :
       {"UPDATE roster_event SET why = 'other'", "DELETE FROM roster_event",
        "REPLACE INTO roster_event VALUES(1, 1, 'x', NULL, 'x', NULL, NULL, 'x')",
        "INSERT INTO roster_event VALUES(1, 1, 'x', NULL, 'x', NULL, NULL, 'x')"
        " ON CONFLICT DO UPDATE SET why = 'other'"}) {
    try {
      sql(attempt);
      ADD_FAILURE() << attempt << " went through";
    } catch (const Fault& fault) {
      EXPECT_THAT(fault.what, HasSubstr("only added to")) << attempt;
    }
  }
  EXPECT_EQ(sql_text("SELECT why || count(*) FROM roster_event"), "1");
}

TEST_F(ImportTest, OfAFileSeenBeforeSaysHowFarItWasTaken) {
  Store store = opened();
  Writer writer{store};
  const std::string text = "time,node\n2026-03-02T06:15:00Z,02AA\n";
  EXPECT_FALSE(store.find_import(text)->has_value());

  append(writer, {.node = "02AA"});
  writer.record({0, "a.csv", text.size(), text.size(), 1, 0, {99}}, text, {});
  const Committed committed = commit(writer);

  for (const std::string& same : {text, text + "2026-03-02T06:16:00Z,02AA\n"}) {
    const auto found = store.find_import(same);
    ASSERT_TRUE(found && *found);
    EXPECT_EQ((*found)->id, committed.import_id);
    EXPECT_EQ((*found)->name, "a.csv");
    EXPECT_EQ((*found)->bytes_taken, text.size());
    EXPECT_EQ((*found)->rows_taken, 1);
    EXPECT_EQ((*found)->at.ns, 99);
  }
  EXPECT_FALSE(store.find_import("time,node\n2026-03-02T06:15:00Z,02BB\n")->has_value());
  EXPECT_FALSE(store.find_import(text.substr(0, 20))->has_value());
}

TEST_F(ImportTest, OfALongerCopyLeavesTheShorterOneKnown) {
  Store store = opened();
  Writer writer{store};
  const std::string shorter = "header\nrow 1\n";
  const std::string longer = shorter + "row 2\n";
  for (const std::string& text : {shorter, longer}) {
    writer.record({0, "log", text.size(), text.size(), 1, 0, {}}, text, {});
    commit(writer);
  }
  EXPECT_EQ((*store.find_import(longer))->bytes_taken, longer.size());
  EXPECT_EQ((*store.find_import(shorter))->bytes_taken, shorter.size());
}

TEST_F(ImportTest, OfALargeFileIsOneHoweverManyCommitsItTakes) {
  Store store = opened();
  Writer writer{store};
  const std::string head(Import::kHeadBytes, 'x');
  for (std::uint64_t taken = 100'000; taken <= 500'000; taken += 100'000) {
    writer.record({0, "log", 500'000, taken, taken / 100, 0, {}}, head, {});
    commit(writer);
  }
  EXPECT_EQ(sql_text("SELECT count(*) || '/' || max(bytes_taken) FROM import"), "1/500000");
}

TEST_F(ImportTest, IsForgottenWithTheRowsWhereTheCommitFails) {
  Store store = opened(Mode::write, {.patience = {}});
  store_all(store, {{}});
  Writer writer{store};
  append(writer, {.node = "02AA"});
  writer.record({0, "log", 5, 5, 1, 0, {}}, "bytes", {});
  {
    Database other{file, Database::Access::write, {}};
    const Transaction locked{other, Transaction::Kind::write};
    ASSERT_FALSE(writer.commit(labels));
    EXPECT_FALSE(store.find_import("bytes")->has_value());
  }
  commit(writer);
  EXPECT_TRUE(store.find_import("bytes")->has_value());
  EXPECT_EQ(count(), 2);
}

TEST_F(ImportTest, KeepsABoundedLedgerOfSkippedRows) {
  Store store = opened();
  Writer writer{store};
  std::vector<SkippedRow> skipped;
  for (std::uint64_t line = 1; line <= Import::kMostSkips + 500; ++line) {
    skipped.push_back({line, "no time", std::string(5000, 'q')});
  }
  writer.record({0, "log", 5, 5, 0, skipped.size(), {}}, "bytes", skipped);
  const Committed committed = commit(writer);
  const auto kept = store.skipped_rows(committed.import_id);
  ASSERT_TRUE(kept);
  EXPECT_THAT(*kept, SizeIs(Import::kMostSkips));
  EXPECT_EQ((*kept)[0].why, "no time");
  EXPECT_THAT((*kept)[0].quote, SizeIs(Import::kLongestQuote));
  EXPECT_EQ((*store.find_import("bytes"))->rows_skipped, Import::kMostSkips + 500);
  EXPECT_THAT(*store.skipped_rows(committed.import_id + 1), IsEmpty());
}

}  // namespace
}  // namespace fieldfare::store
