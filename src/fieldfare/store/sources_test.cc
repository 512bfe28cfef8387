// SPDX-License-Identifier: Apache-2.0
// What is kept of sources. All names are invented.

#include <gmock/gmock.h>

#include "fieldfare/store/internal/store_fixture.h"

namespace fieldfare::store {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;
using testing::SizeIs;

class SourcesTest : public StoreFixture {
 protected:
  std::vector<std::string> stretches(Store& store) {
    std::vector<std::string> found;
    const auto listening = store.listening();
    EXPECT_TRUE(listening) << listening.error().text();
    for (const Listening& one : *listening) {
      found.push_back(one.source + " " + std::to_string(one.from.ns) + "-" +
                      std::to_string(one.to.ns));
    }
    return found;
  }

  static UnreadFrame unread(std::int64_t at_ns, const std::string& source = "loft") {
    return {{at_ns}, source, "bad_check", "the check is wrong", "\x01\x02", 2};
  }
};

TEST_F(SourcesTest, AStretchGrowsWhileItsSessionListensAndAnotherBeginsWithTheNext) {
  Store store = opened();
  Writer writer{store};
  writer.listened("loft", {100}, {200});
  writer.listened("loft", {100}, {300});
  writer.listened("cave", {150}, {160});
  commit(writer);
  EXPECT_THAT(stretches(store), ElementsAre("cave 150-160", "loft 100-300"));
  writer.listened("loft", {100}, {400});
  commit(writer);
  writer.listened("loft", {900}, {950});
  commit(writer);
  EXPECT_THAT(stretches(store), ElementsAre("cave 150-160", "loft 100-400", "loft 900-950"));
}

TEST_F(SourcesTest, AStretchNeverShrinksWhereTheClockWasSetBack) {
  Store store = opened();
  Writer writer{store};
  writer.listened("loft", {100}, {300});
  commit(writer);
  writer.listened("loft", {100}, {200});
  commit(writer);
  writer.listened("loft", {500}, {400});
  commit(writer);
  EXPECT_THAT(stretches(store), ElementsAre("loft 100-300", "loft 500-500"));
}

TEST_F(SourcesTest, ASourceThatComesAndGoesWhileNothingCanBeStoredStaysBounded) {
  Store store = opened();
  Writer writer{store};
  const auto rounds = static_cast<std::int64_t>(Writer::kMostStretches) + 5;
  for (std::int64_t at = 0; at < rounds; ++at) writer.listened("loft", {10 * at}, {10 * at + 1});
  commit(writer);
  const auto listening = store.listening();
  ASSERT_THAT(*listening, SizeIs(Writer::kMostStretches));
  EXPECT_EQ(listening->front().from.ns, 50) << "the oldest were let go";
}

TEST_F(SourcesTest, MarksAreReplacedAndTheLastOfThemComeBackExactly) {
  Store store = opened();
  EXPECT_THAT(*store.marks("loft"), IsEmpty());
  Writer writer{store};
  writer.remember("loft", std::vector<std::uint64_t>{1, 2});
  commit(writer);
  writer.remember("loft", std::vector<std::uint64_t>{0x0102030405060708, ~std::uint64_t{0}, 0});
  commit(writer);
  EXPECT_THAT(*store.marks("loft"), ElementsAre(0x0102030405060708, ~std::uint64_t{0}, 0));
  // As docs/formats/store.md lays them out.
  EXPECT_EQ(sql_text("SELECT substr(hex(marks), 1, 18) FROM source_mark"), "0807060504030201FF");

  std::vector<std::uint64_t> many(Writer::kMostMarks + 10);
  for (std::size_t i = 0; i < many.size(); ++i) many[i] = i;
  writer.remember("loft", many);
  commit(writer);
  ASSERT_THAT(*store.marks("loft"), SizeIs(Writer::kMostMarks));
  EXPECT_EQ(store.marks("loft")->front(), 10);
  writer.remember("loft", {});
  commit(writer);
  EXPECT_THAT(*store.marks("loft"), IsEmpty());
}

TEST_F(SourcesTest, TotalsComeBackCountByCount) {
  SourceTotals totals{.source = "loft", .endpoint = "udp://0.0.0.0:5005", .ledger = {}, .at = {77}};
  wire::StreamLedger& ledger = totals.ledger;
  std::uint64_t next = 1;
  for (std::uint64_t* count :
       {&ledger.bytes_fed, &ledger.bytes_in_frames, &ledger.bytes_lost, &ledger.bytes_pending,
        &ledger.frames, &ledger.frames_read, &ledger.frames_unread, &ledger.frames_foreign,
        &ledger.reports, &ledger.hearings, &ledger.reports_refused, &totals.repeated,
        &totals.dropped_bytes}) {
    *count = next++;
  }
  ledger.unread_by_reason = {{"bad_check", 4}, {"too_short", 3}};
  ledger.lost_by_reason = {{"noise", 9}};
  Store store = opened();
  Writer writer{store};
  writer.total(totals);
  commit(writer);
  ledger.unread_by_reason = {{"bad_check", 5}};
  writer.total(totals);
  writer.listened("heard of only", {1}, {2});
  commit(writer);

  const auto found = store.source_totals();
  ASSERT_TRUE(found) << found.error().text();
  ASSERT_THAT(*found, SizeIs(1));
  const SourceTotals& back = found->front();
  EXPECT_EQ(back.source, "loft");
  EXPECT_EQ(back.endpoint, "udp://0.0.0.0:5005");
  EXPECT_EQ(back.at.ns, 77);
  EXPECT_THAT((std::vector{back.ledger.bytes_fed, back.ledger.bytes_in_frames,
                           back.ledger.bytes_lost, back.ledger.bytes_pending, back.ledger.frames,
                           back.ledger.frames_read, back.ledger.frames_unread,
                           back.ledger.frames_foreign, back.ledger.reports, back.ledger.hearings,
                           back.ledger.reports_refused, back.repeated, back.dropped_bytes}),
              ElementsAre(1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13));
  EXPECT_EQ(back.ledger.unread_by_reason, ledger.unread_by_reason);
  EXPECT_EQ(back.ledger.lost_by_reason, ledger.lost_by_reason);
}

TEST_F(SourcesTest, TheNewestUnreadFramesOfEachSourceAreKept) {
  Store store = opened();
  Writer writer{store};
  writer.keep(unread(-1, "cave"));
  commit(writer);
  constexpr auto kMost = static_cast<std::int64_t>(UnreadFrame::kMostOfSource);
  for (std::int64_t at = 0; at < kMost + 700; ++at) {
    writer.keep(unread(at));
    if (at % 900 == 0) commit(writer);
  }
  for (int more = 0; more < 3 * kMost; ++more) writer.keep(unread(kMost + 700));
  writer.keep(unread(kMost + 701));
  commit(writer);

  EXPECT_EQ(sql_text("SELECT count(*) FROM unread WHERE at_ns >= 0"), std::to_string(kMost));
  const auto newest = store.unread("loft", 2);
  ASSERT_TRUE(newest) << newest.error().text();
  ASSERT_THAT(*newest, SizeIs(2));
  EXPECT_EQ((*newest)[0].at.ns, kMost + 700);
  EXPECT_EQ((*newest)[1].at.ns, kMost + 701);
  EXPECT_THAT(*store.unread("cave", 100), SizeIs(1)) << "another source's don't push it out";
  EXPECT_THAT(*store.unread("attic", 100), IsEmpty());
}

TEST_F(SourcesTest, AnUnreadFrameKeepsItsBeginningAndItsLength) {
  Store store = opened();
  Writer writer{store};
  std::string octets(3'000, '\x7f');
  octets[0] = '\0';
  writer.keep({{1'000'000'000}, "loft", "too_long", std::string(5'000, 'w'), octets, 3'000});
  commit(writer);
  const UnreadFrame back = store.unread("loft", 1)->front();
  EXPECT_EQ(back.reason, "too_long");
  EXPECT_EQ(back.octets, octets.substr(0, UnreadFrame::kLongest));
  EXPECT_EQ(back.length, 3'000);
  EXPECT_THAT(back.what, SizeIs(UnreadFrame::kLongestText));
  EXPECT_EQ(sql_text("SELECT at || ' ' || source || ' ' || substr(octets, 1, 6) || ' ' || length"
                     " FROM unread_frames"),
            "1970-01-01T00:00:01Z loft 007F7F 3000");
}

TEST_F(SourcesTest, AReceiverIsKnownByTheSourceItCameThroughLast) {
  Store store = opened();
  Writer writer{store};
  const fleet::ReceiverIndex r1 = *labels.receiver("r1");
  const fleet::ReceiverIndex r2 = *labels.receiver("r2");
  writer.came_through(r1, "loft");
  writer.came_through(r2, "loft");
  commit(writer);
  writer.came_through(r1, "cave");
  writer.came_through(r2, "cave");
  writer.came_through(r2, "loft");
  commit(writer);
  const auto sources = store.receiver_sources();
  ASSERT_TRUE(sources) << sources.error().text();
  ASSERT_THAT(*sources, SizeIs(2));
  EXPECT_EQ((*sources)[0].receiver + (*sources)[0].source, "r1cave");
  EXPECT_EQ((*sources)[1].receiver + (*sources)[1].source, "r2loft");
}

TEST_F(SourcesTest, WhatAFailedCommitDidNotStoreTheNextOneDoes) {
  Store store = opened(Mode::write, {.patience = {}});
  Writer writer{store};
  writer.listened("loft", {1}, {2});
  writer.remember("loft", std::vector<std::uint64_t>{5});
  writer.keep(unread(3));
  writer.total({.source = "loft", .endpoint = "", .ledger = {}, .at = {2}});
  writer.came_through(*labels.receiver("r1"), "loft");
  {
    Database other{file, Database::Access::write, {}};
    const Transaction locked{other, Transaction::Kind::write};
    ASSERT_FALSE(writer.commit(labels));
    EXPECT_THAT(stretches(store), IsEmpty());
  }
  writer.listened("loft", {1}, {9});
  EXPECT_EQ(commit(writer).rows, 0);
  EXPECT_THAT(stretches(store), ElementsAre("loft 1-9"));
  EXPECT_THAT(*store.marks("loft"), ElementsAre(5));
  EXPECT_THAT(*store.unread("loft", 9), SizeIs(1));
  EXPECT_THAT(*store.source_totals(), SizeIs(1));
  EXPECT_THAT(*store.receiver_sources(), SizeIs(1));
}

TEST_F(SourcesTest, WhatWasDiscardedIsNotStored) {
  Store store = opened();
  Writer writer{store};
  writer.listened("loft", {1}, {2});
  writer.came_through(*labels.receiver("r1"), "loft");
  writer.discard();
  commit(writer);
  EXPECT_THAT(stretches(store), IsEmpty());
  EXPECT_THAT(*store.receiver_sources(), IsEmpty());
  writer.came_through(*labels.receiver("r1"), "loft");
  commit(writer);
  EXPECT_THAT(*store.receiver_sources(), SizeIs(1)) << "it is told anew";
}

TEST_F(SourcesTest, WhatIsKnownOfACounterIsKeptWithItsNode) {
  const fleet::NodeIndex node = *labels.node("02AA");
  {
    Store store = opened();
    Writer writer{store};
    append(writer, {.node = "02AA"});
    commit(writer);
    labels.note_counter(node, false, std::uint8_t{8});
    append(writer, {.node = "02AA"});
    commit(writer);
    labels.note_counter(node, true, {});
    ASSERT_TRUE(store.save_labels(labels));
  }
  EXPECT_EQ(sql_text("SELECT shared_counter || ' ' || sequence_bits FROM node"), "1 8");
  fleet::Labels back;
  Store store = opened();
  ASSERT_TRUE(store.load_labels(back));
  const fleet::NodeLabel& label = back.label(*back.node("02AA"));
  EXPECT_TRUE(label.shared_counter);
  EXPECT_EQ(label.sequence_bits, 8);
  // A run that knows nothing of it doesn't make it forgotten.
  fleet::Labels ignorant;
  ASSERT_TRUE(ignorant.node("02AA"));
  ASSERT_TRUE(store.save_labels(ignorant));
  EXPECT_EQ(sql_text("SELECT shared_counter || ' ' || sequence_bits FROM node"), "1 8");
}

TEST_F(SourcesTest, ACounterFoundToBeSharedAfterTheLastHearingIsKept) {
  Store store = opened();
  Writer writer{store};
  append(writer, {.node = "02AA"});
  append(writer, {.node = "02AB"});
  commit(writer);
  labels.note_counter(*labels.node("02AA"), true, std::uint8_t{8});
  append(writer, {.node = "02AB"});
  commit(writer);
  EXPECT_EQ(sql_text("SELECT shared_counter FROM node WHERE address = '02AA'"), "1");
}

}  // namespace
}  // namespace fieldfare::store
