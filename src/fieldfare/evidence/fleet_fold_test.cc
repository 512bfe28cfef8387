// SPDX-License-Identifier: Apache-2.0
//
// What holds for every log: random ones, with losses, resets, sleeps, duplicates and
// strays, all invented and seeded.
#include "fieldfare/evidence/fleet_fold.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

#include "fieldfare/evidence/test_support.h"

namespace fieldfare::evidence {
namespace {

using Rows = std::vector<fleet::Hearing>;

constexpr std::int64_t kStartNs = 1'770'000'000 * kSecondNs;

/// Names for three nodes and two receivers. Two counters of eight and sixteen bits
/// are stated, the third is not.
struct Names {
  Names() {
    for (const char* name : {"churn room", "cold store", "yard"}) {
      nodes.push_back(*labels.list_node(name, std::nullopt));
    }
    for (const char* name : {"office", "hall"}) receivers.push_back(*labels.receiver(name));
  }
  FleetFold fold() const {
    return FleetFold{labels, [](fleet::NodeIndex node) {
                       const std::optional<std::uint8_t> bits[] = {std::uint8_t{8},
                                                                   std::uint8_t{16}, std::nullopt};
                       return NodeFacts{.sequence_bits = bits[static_cast<std::size_t>(node)],
                                        .interval = std::nullopt};
                     }};
  }

  fleet::Labels labels;
  std::vector<fleet::NodeIndex> nodes;
  std::vector<fleet::ReceiverIndex> receivers;
};

fleet::Hearing heard(fleet::NodeIndex node, fleet::ReceiverIndex receiver, std::int64_t time_ns,
                     std::uint64_t sequence) {
  fleet::Hearing hearing;
  hearing.time = {time_ns};
  hearing.node = node;
  hearing.receiver = receiver;
  hearing.sequence = sequence;
  return hearing;
}

/// Gives some reports of a log the time of the delivery that they came with.
void deliver_in_batches(Rows& rows, RandomStream& random) {
  constexpr std::int64_t kDelivery = 1200 * kSecondNs;
  for (fleet::Hearing& row : rows) {
    if (!random.bernoulli(0.3)) continue;
    row.time.ns += kDelivery - row.time.ns % kDelivery;
    row.batched = true;
  }
}

/// A log in order of time.
Rows random_log(const Names& names, std::size_t reports, std::uint64_t seed) {
  RandomStream random{seed, "log"};
  Rows rows;
  for (std::size_t n = 0; n < names.nodes.size(); ++n) {
    const std::uint64_t mask = n == 0 ? 0xFF : 0xFFFF;
    std::uint64_t counter = random.below(300);
    std::int64_t time = kStartNs + static_cast<std::int64_t>(random.below(60)) * kSecondNs;
    for (std::size_t i = 0; i < reports; ++i) {
      time += 60 * kSecondNs + std::llround(0.4e9 * random.normal());
      ++counter;
      if (random.bernoulli(0.003)) counter = 0;
      if (random.bernoulli(0.003)) time += 3600 * kSecondNs;
      const bool deaf = i > reports / 2 && i < reports / 2 + 30;
      for (std::size_t r = 0; r < names.receivers.size(); ++r) {
        if (deaf || random.bernoulli(0.2)) continue;
        const bool stray = random.bernoulli(0.003);
        rows.push_back(heard(names.nodes[n], names.receivers[r],
                             time + static_cast<std::int64_t>(r) * 1'000'000,
                             stray ? 60'000 + random.below(9000) : counter & mask));
        rows.back().rssi_dbm = std::round(-700 + 40 * random.normal()) / 10;
        rows.back().supply_v = 3.0;
        rows.back().implausible = random.bernoulli(0.005);
      }
    }
  }
  // Every third log holds batches.
  if (seed % 3 == 0) deliver_in_batches(rows, random);
  std::stable_sort(rows.begin(), rows.end(),
                   [](const auto& a, const auto& b) { return a.time < b.time; });
  return rows;
}

void add_all(FleetFold& fold, const Rows& rows) {
  for (const fleet::Hearing& row : rows) fold.add(row);
}

/// Gives overtaken nodes all their rows again, as the caller has to.
void refold(FleetFold& fold, const Rows& rows) {
  for (const fleet::NodeIndex node : fold.overtaken()) {
    std::vector<Entry> entries;
    for (const fleet::Hearing& row : rows) {
      if (row.node == node) entries.push_back(fold.entry_of(row));
    }
    std::sort(entries.begin(), entries.end());
    fold.begin_refold(node);
    for (const Entry& entry : entries) fold.add_in_order(node, entry);
  }
}

/// With our own deafness at some time, so that it is put to every test here.
FleetEvidence finished(const Names& names, const FleetFold& fold) {
  const Deafness deaf[] = {
      {names.receivers[0], {kStartNs + 100 * kMinuteNs}, {kStartNs + 130 * kMinuteNs}},
      {names.receivers[1], {kStartNs + 90 * kMinuteNs}, {kStartNs + 140 * kMinuteNs}}};
  return fold.finish(0.95, deaf);
}

FleetEvidence folded(const Names& names, const Rows& rows) {
  FleetFold fold = names.fold();
  add_all(fold, rows);
  refold(fold, rows);
  return finished(names, fold);
}

TEST(FleetFold, DoesNotCareForTheOrderWithinTheWindow) {
  const Names names;
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    RandomStream random{seed, "order"};
    const Rows rows = random_log(names, 800, seed);
    Rows displaced;
    for (std::size_t i = 0; i < rows.size(); i += 400) {
      const auto end = std::min(rows.size(), i + 400);
      const Rows part(rows.begin() + static_cast<std::ptrdiff_t>(i),
                      rows.begin() + static_cast<std::ptrdiff_t>(end));
      for (const auto& row : shuffled(part, random)) displaced.push_back(row);
    }
    FleetFold fold = names.fold();
    add_all(fold, displaced);
    EXPECT_TRUE(fold.overtaken().empty());
    EXPECT_EQ(told(finished(names, fold)), told(folded(names, rows))) << seed;
  }
}

TEST(FleetFold, DoesNotCareForAnyOrderOnceOvertakenNodesAreFoldedAgain) {
  const Names names;
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    RandomStream random{seed, "any order"};
    const Rows rows = random_log(names, 1500, seed);
    const Rows mixed = shuffled(rows, random);
    FleetFold fold = names.fold();
    add_all(fold, mixed);
    EXPECT_EQ(fold.overtaken().size(), 3U);
    refold(fold, mixed);
    EXPECT_TRUE(fold.overtaken().empty());
    EXPECT_EQ(told(finished(names, fold)), told(folded(names, rows))) << seed;
  }
}

TEST(FleetFold, TellsThatARowCameTooLateAndKeepsSayingSo) {
  const Names names;
  const Rows rows = random_log(names, 1500, 1);
  FleetFold fold = names.fold();
  add_all(fold, rows);
  fleet::Hearing old = rows.front();
  EXPECT_FALSE(fold.add(old));
  EXPECT_EQ(fold.overtaken(), std::vector<fleet::NodeIndex>{old.node});
  old.time = rows.back().time + Duration::seconds(60);
  EXPECT_FALSE(fold.add(old));
}

TEST(FleetFold, DoesNotCareWhereItWasSavedAndRestored) {
  const Names names;
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    RandomStream random{seed, "split"};
    const Rows rows = random_log(names, 700, seed);
    FleetFold fold = names.fold();
    for (const fleet::Hearing& row : rows) {
      fold.add(row);
      if (random.below(300) != 0) continue;
      FleetFold next = names.fold();
      ASSERT_TRUE(next.restore_receivers(fold.save_receivers()));
      for (const fleet::NodeIndex node : names.nodes) {
        ASSERT_TRUE(next.restore_node(node, fold.save_node(node)));
      }
      EXPECT_TRUE(next.touched().empty());
      fold = std::move(next);
    }
    EXPECT_EQ(told(finished(names, fold)), told(folded(names, rows))) << seed;
  }
}

TEST(FleetFold, RestoresUnderOtherIndicesOfTheSameReceivers) {
  const Names names;
  const Rows rows = random_log(names, 300, 1);
  FleetFold fold = names.fold();
  add_all(fold, rows);
  fleet::Labels other;
  for (const char* name : {"churn room", "cold store", "yard"}) other.list_node(name, {});
  for (const char* name : {"attic", "hall", "office"}) other.receiver(name);
  FleetFold restored{other, [](fleet::NodeIndex) {
                       return NodeFacts{.sequence_bits = std::uint8_t{16}, .interval = {}};
                     }};
  const fleet::NodeIndex cold_store = names.nodes[1];
  ASSERT_TRUE(restored.restore_receivers(fold.save_receivers()));
  ASSERT_TRUE(restored.restore_node(cold_store, fold.save_node(cold_store)));
  const FleetEvidence evidence = restored.finish(0.95);
  ASSERT_EQ(evidence.nodes.size(), 1U);
  ASSERT_EQ(evidence.nodes[0].links.size(), 2U);
  EXPECT_EQ(other.receiver_name(evidence.nodes[0].links[0].receiver), "hall");
  const FleetEvidence before = fold.finish(0.95);
  EXPECT_EQ(evidence.nodes[0].links[0].reports, before.nodes[1].links[0].reports);
}

TEST(FleetFold, RefusesAStateWhoseReceiversOrFactsItDoesNotKnow) {
  const Names names;
  FleetFold fold = names.fold();
  add_all(fold, random_log(names, 50, 1));
  const std::string state = fold.save_node(names.nodes[0]);
  fleet::Labels strange;
  strange.list_node("churn room", {});
  FleetFold other{strange, [](fleet::NodeIndex) {
                    return NodeFacts{.sequence_bits = std::uint8_t{8}, .interval = {}};
                  }};
  EXPECT_FALSE(other.restore_node(names.nodes[0], state));
  EXPECT_FALSE(other.restore_receivers(fold.save_receivers()));
  // The first node's counter has eight bits, the second's sixteen.
  FleetFold same = names.fold();
  EXPECT_FALSE(same.restore_node(names.nodes[1], state));
  EXPECT_TRUE(same.restore_node(names.nodes[0], state));
}

TEST(FleetFold, RefusesAStateCutShortAnywhere) {
  const Names names;
  FleetFold fold = names.fold();
  add_all(fold, random_log(names, 60, 2));
  const std::string state = fold.save_node(names.nodes[0]);
  const std::string receivers = fold.save_receivers();
  FleetFold other = names.fold();
  for (std::size_t length = 0; length < state.size(); ++length) {
    ASSERT_FALSE(other.restore_node(names.nodes[0], state.substr(0, length))) << length;
  }
  for (std::size_t length = 0; length < receivers.size(); ++length) {
    ASSERT_FALSE(other.restore_receivers(receivers.substr(0, length))) << length;
  }
  EXPECT_FALSE(other.restore_node(names.nodes[0], state + '\0'));
}

TEST(FleetFold, RefusesAStateWithAnyOneByteChangedAndStaysAsItWas) {
  const Names names;
  RandomStream random{3, "flips"};
  FleetFold fold = names.fold();
  add_all(fold, random_log(names, 60, 3));
  FleetFold other = names.fold();
  add_all(other, random_log(names, 40, 4));
  const std::string before = told(other.finish(0.95));
  std::string state = fold.save_node(names.nodes[1]);
  for (char& byte : state) {
    const char kept = byte;
    byte = static_cast<char>(kept ^ static_cast<char>(1 + random.below(255)));
    ASSERT_FALSE(other.restore_node(names.nodes[1], state));
    byte = kept;
  }
  std::string receivers = fold.save_receivers();
  for (char& byte : receivers) {
    const char kept = byte;
    byte = static_cast<char>(kept ^ static_cast<char>(1 + random.below(255)));
    ASSERT_FALSE(other.restore_receivers(receivers));
    byte = kept;
  }
  EXPECT_EQ(told(other.finish(0.95)), before);
}

TEST(FleetFold, EnrolsNobodyBySavingOrByRefusing) {
  const Names names;
  FleetFold fold = names.fold();
  const std::string fresh = fold.save_node(names.nodes[0]);
  EXPECT_FALSE(fold.restore_node(names.nodes[1], "nonsense"));
  EXPECT_TRUE(fold.finish(0.95).nodes.empty());
  EXPECT_TRUE(fold.restore_node(names.nodes[0], fresh));
}

TEST(FleetFold, GivesTheSameConclusionsWhenEveryRowIsGivenTwice) {
  const Names names;
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    const Rows rows = random_log(names, 800, seed);
    Rows twice;
    for (const fleet::Hearing& row : rows) {
      twice.push_back(row);
      twice.push_back(row);
    }
    const FleetEvidence once = folded(names, rows);
    const FleetEvidence doubled = folded(names, twice);
    for (std::size_t i = 0; i < once.nodes.size(); ++i) {
      const NodeEvidence& a = once.nodes[i];
      const NodeEvidence& b = doubled.nodes[i];
      EXPECT_EQ(b.heard.reports, a.heard.reports) << seed;
      EXPECT_EQ(b.sequence->expected, a.sequence->expected) << seed;
      EXPECT_EQ(b.sequence->missed, a.sequence->missed) << seed;
      EXPECT_EQ(b.sequence->breaks.size(), a.sequence->breaks.size()) << seed;
      EXPECT_EQ(told(*b.cadence), told(*a.cadence)) << seed;
      EXPECT_EQ(b.links[0].reports, a.links[0].reports) << seed;
    }
    EXPECT_EQ(doubled.receiver_silences.size(), once.receiver_silences.size());
  }
}

TEST(FleetFold, AccountsForEveryRowOfAnyLog) {
  const Names names;
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    const Rows rows = random_log(names, 400, seed);
    const FleetEvidence evidence = folded(names, rows);
    std::uint64_t hearings = 0;
    for (const NodeEvidence& node : evidence.nodes) {
      hearings += node.heard.hearings;
      EXPECT_EQ(node.heard.hearings, node.heard.reports + node.heard.duplicates +
                                         node.heard.further_hearings + node.sequence->strays);
      EXPECT_EQ(node.sequence->missed + node.heard.reports, node.sequence->expected);
    }
    EXPECT_EQ(hearings, rows.size());
  }
}

TEST(FleetFold, GoesOnAfterFinishing) {
  const Names names;
  const Rows rows = random_log(names, 200, 1);
  FleetFold fold = names.fold();
  for (std::size_t i = 0; i < rows.size(); ++i) {
    fold.add(rows[i]);
    if (i % 100 == 0) fold.finish(0.95);
  }
  EXPECT_EQ(told(finished(names, fold)), told(folded(names, rows)));
}

TEST(FleetFold, TwoNodesSilentTogetherAreOneSilenceOfTheirReceiver) {
  const Names names;
  FleetFold fold = names.fold();
  for (std::uint64_t minute = 0; minute < 200; ++minute) {
    if (minute >= 100 && minute < 120) continue;
    for (std::size_t n = 1; n < 3; ++n) {
      fold.add(heard(names.nodes[n], names.receivers[0],
                     kStartNs + static_cast<std::int64_t>(minute) * kMinuteNs, minute));
    }
  }
  const FleetEvidence evidence = fold.finish(0.95);
  ASSERT_EQ(evidence.receiver_silences.size(), 1U);
  EXPECT_EQ(evidence.receiver_silences[0].missed, 40U);
  EXPECT_EQ(evidence.receiver_silences[0].from.ns, kStartNs + 99 * kMinuteNs);
  EXPECT_EQ(evidence.receiver_silences[0].to.ns, kStartNs + 120 * kMinuteNs);
  for (const NodeEvidence& node : evidence.nodes) {
    EXPECT_EQ(node.sequence->missed, 20U);
    EXPECT_EQ(node.chain->expected, node.chain->heard);
  }
}

TEST(FleetFold, TakesTheSignalOfTheReceiverThatHearsTheNodeBest) {
  const Names names;
  FleetFold fold = names.fold();
  for (std::uint64_t i = 0; i < 30; ++i) {
    for (std::size_t r = 0; r < 2; ++r) {
      if (r == 0 && i % 2 == 0) continue;
      fleet::Hearing row = heard(names.nodes[1], names.receivers[r],
                                 kStartNs + static_cast<std::int64_t>(i) * kMinuteNs, i);
      row.rssi_dbm = r == 0 ? -50 : -80;
      fold.add(row);
    }
  }
  const FleetEvidence evidence = fold.finish(0.95);
  EXPECT_EQ(evidence.nodes[0].signal->receiver, names.receivers[1]);
  EXPECT_EQ(evidence.nodes[0].signal->mean_dbm, -80);
}

TEST(FleetFold, TellsMoreReceiversApartThanSixteenBitsCanName) {
  Names names;
  FleetFold fold = names.fold();
  constexpr std::uint32_t kMany = 65'537;
  fleet::ReceiverIndex last{};
  for (std::uint32_t i = 0; i < kMany; ++i) {
    last = *names.labels.receiver("r" + std::to_string(i));
  }
  const fleet::ReceiverIndex ends[] = {names.receivers[0], last};
  for (std::uint64_t i = 0; i < 10; ++i) {
    for (const fleet::ReceiverIndex receiver : ends) {
      fold.add(
          heard(names.nodes[1], receiver, kStartNs + static_cast<std::int64_t>(i) * kMinuteNs, i));
    }
  }
  const FleetEvidence evidence = fold.finish(0.95);
  ASSERT_EQ(evidence.nodes[0].links.size(), 2U);
  EXPECT_EQ(evidence.nodes[0].links[0].receiver, ends[0]);
  EXPECT_EQ(evidence.nodes[0].links[1].receiver, last);
  EXPECT_EQ(evidence.nodes[0].heard.further_hearings, 10U);
}

TEST(FleetFold, TakesNumbersBeyondThirtyTwoBitsForStrays) {
  const Names names;
  FleetFold fold = names.fold();
  fold.add(heard(names.nodes[2], names.receivers[0], kStartNs, std::uint64_t{1} << 32U));
  const FleetEvidence evidence = fold.finish(0.95);
  EXPECT_EQ(evidence.nodes[0].heard.reports, 0U);
  EXPECT_EQ(evidence.nodes[0].sequence->strays, 1U);
}

TEST(FleetFold, BearsTheEndsOfTheRangeOfTime) {
  // From the year 2000, the earliest a log may tell, to the last moment there is.
  const Names names;
  FleetFold fold = names.fold();
  std::uint64_t number = 0;
  for (const std::int64_t time : {946'684'800 * kSecondNs, 946'684'801 * kSecondNs,
                                  1'770'000'000 * kSecondNs, INT64_MAX - 1, INT64_MAX}) {
    for (const std::uint64_t sent : {number, std::uint64_t{0xFFFF'FFFF}, number + 3}) {
      fold.add(heard(names.nodes[2], names.receivers[0], time, sent));
    }
    ++number;
  }
  EXPECT_EQ(fold.finish(0.95).nodes[0].heard.hearings, 15U);
}

TEST(FleetFold, ACounterForSeveralListenersTellsOfNoLosses) {
  Names names;
  FleetFold fold = names.fold();
  for (std::uint64_t i = 0; i < 100; ++i) {
    const auto at = kStartNs + static_cast<std::int64_t>(i) * 60 * kSecondNs;
    if (i % 3 != 0) fold.add(heard(names.nodes[1], names.receivers[0], at, i));
  }
  EXPECT_GT(fold.finish(0.95).nodes.at(0).sequence->missed, 0U);
  names.labels.note_counter(names.nodes[1], true, std::nullopt);
  const NodeEvidence node = fold.finish(0.95).nodes.at(0);
  EXPECT_TRUE(node.counter_shared);
  EXPECT_FALSE(node.sequence);
  EXPECT_FALSE(node.chain);
  EXPECT_EQ(node.heard.reports, 66U);
  ASSERT_TRUE(node.cadence);
  EXPECT_NEAR(node.cadence->interval_s, 60, 0.5);
}

TEST(FleetFold, ANodeOfWhichMoreBecameKnownIsFoldedAgain) {
  Names names;
  NodeFacts known;
  FleetFold fold{names.labels, [&](fleet::NodeIndex) { return known; }};
  fold.add(heard(names.nodes[0], names.receivers[0], kStartNs, 1));
  EXPECT_TRUE(fold.overtaken().empty());
  known.sequence_bits = std::uint8_t{8};
  EXPECT_EQ(fold.overtaken(), std::vector{names.nodes[0]});
  fold.begin_refold(names.nodes[0]);
  EXPECT_TRUE(fold.overtaken().empty());
}

}  // namespace
}  // namespace fieldfare::evidence
