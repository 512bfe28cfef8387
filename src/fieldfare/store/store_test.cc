// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/store/store.h"

#include <gmock/gmock.h>
#include <sys/stat.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <set>
#include <tuple>

#include "fieldfare/base/random.h"
#include "fieldfare/store/internal/sheets.h"
#include "fieldfare/store/internal/store_fixture.h"
#include "fieldfare/store/internal/stretch.h"

namespace fieldfare::store {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

class StoreTest : public StoreFixture {};

void expect_same(const fleet::Hearing& a, const fleet::Hearing& b) {
  EXPECT_EQ(a.time, b.time);
  EXPECT_EQ(a.arrived_at, b.arrived_at);
  EXPECT_EQ(a.node, b.node);
  EXPECT_EQ(a.receiver, b.receiver);
  EXPECT_EQ(a.sequence, b.sequence);
  EXPECT_EQ(a.rssi_dbm, b.rssi_dbm);
  EXPECT_EQ(a.snr_db, b.snr_db);
  EXPECT_EQ(a.lqi, b.lqi);
  EXPECT_EQ(a.noise_dbm, b.noise_dbm);
  EXPECT_EQ(a.supply_v, b.supply_v);
  EXPECT_EQ(a.implausible, b.implausible);
}

TEST_F(StoreTest, GivesBackEveryMemberOfAHearing) {
  fleet::Hearing full = hearing({.time_ns = 1'772'435'700'250'000'001, .seq = 65'535});
  full.arrived_at = Instant{1'772'435'999'000'000'000};
  full.rssi_dbm = -87.25;
  full.snr_db = 1.0 / 3;
  full.lqi = 255;
  full.noise_dbm = -101.5;
  full.supply_v = 2.987;
  full.implausible = true;
  const fleet::Hearing bare = hearing({.time_ns = -1});
  Store store = opened();
  Writer writer{store};
  ASSERT_TRUE(writer.append(full, labels));
  ASSERT_TRUE(writer.append(bare, labels));
  EXPECT_EQ(commit(writer).rows, 2);

  const auto found = scanned(store);
  ASSERT_THAT(found, SizeIs(2));
  EXPECT_EQ(found[0].arrival, 1);
  EXPECT_EQ(found[1].arrival, 2);
  expect_same(found[0].hearing, full);
  expect_same(found[1].hearing, bare);
}

TEST_F(StoreTest, HoldsTheWholeRangeOfTimesAndCounters) {
  constexpr auto kMost = std::numeric_limits<std::int64_t>::max();
  constexpr auto kLeast = std::numeric_limits<std::int64_t>::min();
  Store store = opened();
  store_all(store, {{.time_ns = kMost, .seq = std::numeric_limits<std::uint64_t>::max()},
                    {.time_ns = kLeast, .seq = 0},
                    {.time_ns = kMost, .seq = std::uint64_t{1} << 63}});
  const auto found = scanned(store);
  ASSERT_THAT(found, SizeIs(3));
  EXPECT_EQ(found[0].hearing.time.ns, kMost);
  EXPECT_EQ(found[0].hearing.sequence, std::numeric_limits<std::uint64_t>::max());
  EXPECT_EQ(found[1].hearing.time.ns, kLeast);
  EXPECT_EQ(found[2].hearing.sequence, std::uint64_t{1} << 63);
}

TEST_F(StoreTest, KeepsIdenticalHearingsBecauseADuplicateIsEvidence) {
  Store store = opened();
  store_all(store, {{.time_ns = 5, .seq = 7}, {.time_ns = 5, .seq = 7}, {.time_ns = 5, .seq = 7}});
  EXPECT_THAT(scanned(store), SizeIs(3));
}

TEST_F(StoreTest, TakesNotANumberForNotGiven) {
  fleet::Hearing odd = hearing({.time_ns = 1});
  odd.rssi_dbm = std::nan("");
  odd.snr_db = -0.0;
  Store store = opened();
  Writer writer{store};
  ASSERT_TRUE(writer.append(odd, labels));
  commit(writer);
  const auto found = scanned(store);
  EXPECT_FALSE(found[0].hearing.rssi_dbm);
  EXPECT_FALSE(std::signbit(*found[0].hearing.snr_db));
}

TEST_F(StoreTest, GoesOnAfterAWatermarkWithWhatIsNewAlone) {
  Store store = opened();
  store_all(store, {{.time_ns = 10}, {.time_ns = 20}});
  const auto first = store.scan({}, labels, [](const StoredHearing&) {});
  ASSERT_TRUE(first);
  EXPECT_EQ(*first, 2);
  EXPECT_THAT(scanned(store, {.after_arrival = *first}), IsEmpty());

  store_all(store, {{.time_ns = 15}});  // late, and new all the same
  const auto found = scanned(store, {.after_arrival = *first});
  ASSERT_THAT(found, SizeIs(1));
  EXPECT_EQ(found[0].hearing.time.ns, 15);
}

TEST_F(StoreTest, HandsOverOneNodeInTheOrderOfItsArrival) {
  Store store = opened();
  store_all(store, {{.node = "02AA", .time_ns = 3},
                    {.node = "02BB", .time_ns = 1},
                    {.node = "02AA", .time_ns = 2},
                    {.node = "02BB", .time_ns = 4}});
  std::vector<std::int64_t> times;
  ASSERT_TRUE(store.scan_node(*labels.node("02AA"), labels, [&](const StoredHearing& stored) {
    times.push_back(stored.hearing.time.ns);
  }));
  EXPECT_EQ(times, (std::vector<std::int64_t>{3, 2}));
}

TEST_F(StoreTest, NumbersOfRemovedHearingsAreNotUsedAgain) {
  Store store = opened();
  store_all(store, {{.time_ns = 1}, {.time_ns = 2}});
  ASSERT_TRUE(store.save_checkpoints(std::vector<Checkpoint>{{{}, 2, 1, "state"}}, labels));
  sql("DELETE FROM hearing WHERE arrival = 2");
  store_all(store, {{.time_ns = 3}});
  const auto found = scanned(store, {.after_arrival = 2});
  ASSERT_THAT(found, SizeIs(1));
  EXPECT_EQ(found[0].arrival, 3);
}

TEST_F(StoreTest, ReadersSeeWhatIsCommittedWhileAnotherWrites) {
  Store store = opened();
  store_all(store, {{.node = "02AA"}});
  Store reader = opened(Mode::read);
  fleet::Labels seen;
  std::size_t rows = 0;
  const auto count_rows = [&](const StoredHearing&) { ++rows; };
  ASSERT_TRUE(reader.scan({}, seen, count_rows));
  EXPECT_EQ(rows, 1);

  Writer writer{store};
  append(writer, {.node = "02BB"});  // a node that the reader has not met
  ASSERT_TRUE(reader.scan({}, seen, count_rows));
  EXPECT_EQ(rows, 2) << "not committed, not seen";
  commit(writer);
  ASSERT_TRUE(reader.scan({}, seen, count_rows));
  EXPECT_EQ(rows, 4);
  EXPECT_EQ(seen.node_count(), 2);
}

TEST_F(StoreTest, TwoWritersInTurnLoseNothingAndUseNoNumberTwice) {
  Store a = opened();
  Store b = opened();
  Writer writer_a{a};
  Writer writer_b{b};
  for (int round = 0; round < 20; ++round) {
    append(writer_a, {.node = "02AA", .time_ns = round});
    commit(writer_a);
    append(writer_b, {.node = "02BB", .time_ns = round});
    append(writer_b, {.node = "02AA", .time_ns = round});
    commit(writer_b);
  }
  std::set<std::int64_t> arrivals;
  for (const Found& found : scanned(a)) arrivals.insert(found.arrival);
  EXPECT_THAT(arrivals, SizeIs(60));
  EXPECT_EQ(sql_text("SELECT count(*) FROM node"), "2");
}

TEST_F(StoreTest, IsReadableByItsOwnerAlone) {
  Store store = opened();
  store_all(store, {{}});
  for (const char* suffix : {"", "-wal", "-shm"}) {
    struct stat status {};
    ASSERT_EQ(::stat((file.string() + suffix).c_str(), &status), 0) << suffix;
    EXPECT_EQ(status.st_mode & 0777U, 0600U) << suffix;
  }
}

// Packed stretches -------------------------------------------------------------

using Key =
    std::tuple<std::int64_t, std::uint32_t, std::uint32_t, std::int64_t, std::uint64_t, double>;

class StretchesTest : public StoreFixture {
 protected:
  /// Several stretches and the beginning of one more, in batches of odd sizes.
  void store_many(std::int64_t rows) {
    Store store = opened();
    Writer writer{store};
    RandomStream random{7, "hearings"};
    for (std::int64_t row = 0; row < rows; ++row) {
      fleet::Hearing made = hearing({.node = "02A" + std::to_string(random.below(10)),
                                     .time_ns = static_cast<std::int64_t>(random.below(1'000'000)),
                                     .seq = random.below(256),
                                     .receiver = "r" + std::to_string(random.below(2))});
      if (random.below(3) != 0) made.rssi_dbm = -static_cast<double>(random.below(1000)) / 8;
      ASSERT_TRUE(writer.append(made, labels));
      if (writer.pending() == 777) commit(writer);
    }
    commit(writer);
  }

  std::set<Key> keys(const Scan& scan = {}) {
    Store store = opened(Mode::read);
    std::set<Key> found;
    for (const Found& each : scanned(store, scan)) {
      const fleet::Hearing& h = each.hearing;
      found.emplace(each.arrival, static_cast<std::uint32_t>(h.node),
                    static_cast<std::uint32_t>(h.receiver), h.time.ns, *h.sequence,
                    h.rssi_dbm.value_or(1));
    }
    return found;
  }
};

constexpr std::int64_t kMany = 3 * kStretchRows + 100;

TEST_F(StretchesTest, HoldExactlyWhatTheTableHolds) {
  store_many(kMany);
  ASSERT_EQ(sql_text("SELECT count(*) FROM stretch"), "3");
  const auto packed = keys();
  EXPECT_THAT(packed, SizeIs(static_cast<std::size_t>(kMany)));
  sql("DELETE FROM stretch");
  EXPECT_EQ(keys(), packed);
}

TEST_F(StretchesTest, AnswerEveryWatermarkAndNodeAsTheTableDoes) {
  store_many(kMany);
  const std::array<fleet::NodeIndex, 2> two{*labels.node("02A3"), *labels.node("02A7")};
  const auto answers = [&] {
    std::vector<std::set<Key>> all;
    for (const std::int64_t after : {std::int64_t{0}, kStretchRows - 1, kStretchRows,
                                     kStretchRows + 1, 2 * kStretchRows + 5, kMany - 1, kMany}) {
      all.push_back(keys({.after_arrival = after}));
      EXPECT_THAT(all.back(), SizeIs(static_cast<std::size_t>(kMany - after)));
      all.push_back(keys({.after_arrival = after, .nodes = two}));
    }
    return all;
  };
  const auto packed = answers();
  sql("DELETE FROM stretch WHERE number = 1");
  EXPECT_EQ(answers(), packed);
  sql("DELETE FROM stretch");
  EXPECT_EQ(answers(), packed);
}

TEST_F(StretchesTest, ArePackedAnewByTheNextCommit) {
  store_many(kMany);
  const auto before = keys();
  sql("DELETE FROM stretch");
  Store store = opened();
  store_all(store, {{.node = "02A1", .seq = 1}});
  EXPECT_EQ(sql_text("SELECT count(*) FROM stretch"), "3");
  EXPECT_EQ(keys({.after_arrival = 0}).size(), before.size() + 1);
}

TEST_F(StretchesTest, GiveWayWhereSomebodyChangesARowByHand) {
  store_many(kMany);
  sql("UPDATE hearing SET time_ns = -5 WHERE arrival = 5000");
  sql("DELETE FROM hearing WHERE arrival = 3");
  EXPECT_EQ(sql_text("SELECT group_concat(number) FROM stretch"), "2");
  const auto found = keys();
  EXPECT_THAT(found, SizeIs(static_cast<std::size_t>(kMany - 1)));
  EXPECT_TRUE(std::any_of(found.begin(), found.end(), [](const Key& key) {
    return std::get<0>(key) == 5000 && std::get<3>(key) == -5;
  }));
}

TEST_F(StretchesTest, AreSaidToBeDamagedWithTheWayOut) {
  store_many(kMany);
  sql("UPDATE stretch SET packed = substr(packed, 1, 1000) WHERE number = 1");
  Store store = opened(Mode::read);
  const auto last = store.scan({}, labels, [](const StoredHearing&) {});
  ASSERT_FALSE(last);
  EXPECT_THAT(last.error().text(), HasSubstr("DELETE FROM stretch"));
}

// Readings -----------------------------------------------------------------------

class ReadingsTest : public StoreFixture {
 protected:
  void append_with(Writer& writer, const Heard& heard,
                   const std::vector<std::pair<std::string, double>>& values,
                   SheetIndex sheet = Writer::kUnsheeted) {
    std::vector<fleet::Reading> readings;
    readings.reserve(values.size());
    for (const auto& [name, value] : values) readings.push_back({*labels.field(name), value});
    fleet::Hearing made = hearing(heard);
    made.readings = readings;
    const Outcome appended = writer.append(made, labels, sheet);
    ASSERT_TRUE(appended) << appended.error().text();
  }

  std::vector<std::pair<std::string, double>> named(const Found& found) const {
    std::vector<std::pair<std::string, double>> values;
    values.reserve(found.readings.size());
    for (const fleet::Reading& reading : found.readings) {
      values.emplace_back(labels.field_name(reading.field), reading.value);
    }
    std::sort(values.begin(), values.end());
    return values;
  }
};

using Values = std::vector<std::pair<std::string, double>>;

TEST_F(ReadingsTest, ComeBackWhenAskedForAndNotElse) {
  Store store = opened();
  Writer writer{store};
  const SheetIndex sheet = *writer.sheet("air-probe-868");
  append_with(writer, {.time_ns = 1}, {{"humidity_pct", 81}, {"temperature_c", 11.5}}, sheet);
  append_with(writer, {.time_ns = 2}, {});
  append_with(writer, {.time_ns = 3}, {{"level_m", 0.25}});
  append_with(writer, {.time_ns = 4}, {{"temperature_c", 11.75}}, sheet);
  commit(writer);
  const auto found = scanned(store, {.with_readings = true});
  ASSERT_THAT(found, SizeIs(4));
  EXPECT_EQ(named(found[0]), (Values{{"humidity_pct", 81}, {"temperature_c", 11.5}}));
  EXPECT_THAT(found[1].readings, IsEmpty());
  EXPECT_EQ(named(found[2]), (Values{{"level_m", 0.25}}));
  EXPECT_EQ(named(found[3]), (Values{{"temperature_c", 11.75}}));
  for (const Found& each : scanned(store)) EXPECT_THAT(each.readings, IsEmpty());
}

TEST_F(ReadingsTest, LieInOneTableASheetWithRealColumns) {
  Store store = opened();
  Writer writer{store};
  append_with(writer, {.node = "02AA", .time_ns = 1'772'435'700'250'000'000},
              {{"temperature_c", 11.5}}, *writer.sheet("air-probe-868"));
  append_with(writer, {.node = "02BB"}, {{"level_m", 0.25}});
  commit(writer);
  EXPECT_EQ(sql_text("SELECT temperature_c FROM reading_air_probe_868"), "11.5");
  EXPECT_EQ(sql_text("SELECT level_m FROM reading_unsheeted"), "0.25");
  EXPECT_EQ(sql_text("SELECT time || ' ' || node || ' ' || temperature_c FROM "
                     "readings_air_probe_868"),
            "2026-03-02T07:15:00.250Z 02AA 11.5");
}

TEST_F(ReadingsTest, GainAColumnWhenANewFieldAppears) {
  Store store = opened();
  Writer writer{store};
  append_with(writer, {}, {{"a_c", 1}});
  commit(writer);
  append_with(writer, {}, {{"b_c", 2}});
  append_with(writer, {}, {{"a_c", 3}});
  commit(writer);
  EXPECT_EQ(sql_text("SELECT group_concat(ifnull(a_c, '-') || '/' || ifnull(b_c, '-'), ' ') FROM "
                     "reading_unsheeted"),
            "1.0/- -/2.0 3.0/-");
  EXPECT_EQ(sql_text("SELECT b_c FROM readings_unsheeted WHERE b_c > 0"), "2.0");
}

TEST_F(ReadingsTest, SurviveNamesThatSqlCouldTrip) {
  // Names that differ in case, collide once sanitised, or belong to the view.
  const Values odd = {{"A_c", 1},     {"a_c", 2},  {"t-c", 3},     {"t c", 4},
                      {"arrival", 5}, {"time", 6}, {"x\"; --", 7}, {"0_pct", 8}};
  Store store = opened();
  Writer writer{store};
  append_with(writer, {}, odd, *writer.sheet("a\"; DROP TABLE hearing"));
  append_with(writer, {}, {{"a_c", 9}}, *writer.sheet("a'; DROP TABLE hearing"));
  append_with(writer, {}, {{"a_c", 10}}, *writer.sheet("unsheeted"));
  append_with(writer, {}, {{"a_c", 11}});
  commit(writer);
  Store again = opened(Mode::read);
  const auto found = scanned(again, {.with_readings = true});
  ASSERT_THAT(found, SizeIs(4));
  Values sorted = odd;
  std::sort(sorted.begin(), sorted.end());
  EXPECT_EQ(named(found[0]), sorted);
  EXPECT_EQ(named(found[1]), (Values{{"a_c", 9}}));
  EXPECT_EQ(named(found[2]), (Values{{"a_c", 10}}));
  EXPECT_EQ(named(found[3]), (Values{{"a_c", 11}}));
}

TEST_F(ReadingsTest, OfMoreFieldsThanATableHasColumnsAreRefusedOneHearingAtATime) {
  Store store = opened();
  Writer writer{store};
  Values all;
  all.reserve(kMostFields);
  for (std::size_t i = 0; i < kMostFields; ++i) all.emplace_back("f" + std::to_string(i), i);
  append_with(writer, {}, all);
  commit(writer);
  const std::vector<fleet::Reading> one_more{{*labels.field("one_more"), 1}};
  fleet::Hearing made = hearing({});
  made.readings = one_more;
  const Outcome refused = writer.append(made, labels);
  ASSERT_FALSE(refused);
  EXPECT_THAT(refused.error().text(), HasSubstr("one_more"));
  append_with(writer, {}, {{"f3", 1}});
  EXPECT_EQ(commit(writer).rows, 1);
}

// Labels -----------------------------------------------------------------------

TEST_F(StoreTest, LabelsComeBackWithNamesAddressesAndTheRoster) {
  labels.list_node("cave 1 north", parse_address("02:4D:21:00:00:00:5C:E7"));
  labels.list_node("brine pump", std::nullopt);
  labels.node("0242");
  labels.node("by hand");
  labels.receiver("office");
  Store store = opened();
  ASSERT_TRUE(store.save_labels(labels));

  fleet::Labels back;
  Store again = opened(Mode::read);
  ASSERT_TRUE(again.load_labels(back));
  ASSERT_EQ(back.node_count(), 4);
  for (std::uint32_t node = 0; node < 4; ++node) {
    const fleet::NodeLabel& was = labels.label(fleet::NodeIndex{node});
    const fleet::NodeLabel& is = back.label(*back.node(was.name));
    EXPECT_EQ(is.name, was.name);
    EXPECT_EQ(is.address, was.address);
    EXPECT_EQ(is.listed, was.listed);
  }
  EXPECT_EQ(back.receiver_name(fleet::ReceiverIndex{0}), "office");
}

TEST_F(StoreTest, SpeaksTheIndexesOfTheLabelsItIsGiven) {
  Store store = opened();
  store_all(store, {{.node = "02AA"}, {.node = "02BB"}});
  fleet::Labels other;
  other.node("02CC");
  const fleet::NodeIndex b = *other.node("02bb");
  Store again = opened(Mode::read);
  std::vector<std::string> names;
  ASSERT_TRUE(again.scan({}, other, [&](const StoredHearing& stored) {
    names.push_back(other.label(stored.hearing.node).name);
  }));
  EXPECT_EQ(names, (std::vector<std::string>{"02AA", "02BB"}));
  EXPECT_EQ(other.node("02BB"), b);
}

TEST_F(StoreTest, ANodeListedLaterKeepsWhatWasHeardOfIt) {
  Store store = opened();
  store_all(store, {{.node = "024D2100005CE7", .time_ns = 1}, {.node = "cave 1", .time_ns = 2}});

  // The roster now says that both were the same node.
  fleet::Labels roster;
  const fleet::NodeIndex cave = *roster.list_node("cave 1", parse_address("024D2100005CE7"));
  Store later = opened();
  Writer writer{later};
  fleet::Hearing made;
  made.node = cave;
  made.receiver = *roster.receiver("r1");
  ASSERT_TRUE(writer.append(made, roster));
  ASSERT_TRUE(writer.commit(roster));
  std::size_t rows = 0;
  ASSERT_TRUE(later.scan_node(cave, roster, [&](const StoredHearing&) { ++rows; }));
  EXPECT_EQ(rows, 3);
  EXPECT_EQ(sql_text("SELECT name FROM node WHERE address = '024D2100005CE7' AND listed"),
            "cave 1");
}

}  // namespace
}  // namespace fieldfare::store
