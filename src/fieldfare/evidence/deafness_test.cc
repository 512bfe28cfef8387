// SPDX-License-Identifier: Apache-2.0
//
// Our own deafness is never charged to nodes. All logs are invented.
#include "fieldfare/evidence/deafness.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <functional>
#include <set>
#include <vector>

#include "fieldfare/evidence/fleet_fold.h"
#include "fieldfare/evidence/test_support.h"

namespace fieldfare::evidence {
namespace {

constexpr std::int64_t kStartNs = 1'770'000'000 * kSecondNs;

/// The moment `minute` minutes after the logs begin.
Instant at(double minute) {
  return {kStartNs + static_cast<std::int64_t>(minute * static_cast<double>(kMinuteNs))};
}

/// A fold of nodes that report every minute, and verbs that fill it.
class DeafnessTest : public testing::Test {
 protected:
  DeafnessTest() {
    for (const char* name : {"cave", "brine", "yard"}) nodes.push_back(*labels.list_node(name, {}));
    for (const char* name : {"office", "hall"}) receivers.push_back(*labels.receiver(name));
  }

  FleetFold fold() const {
    return FleetFold{labels, [](fleet::NodeIndex) {
                       return NodeFacts{.sequence_bits = std::uint8_t{16}, .interval = {}};
                     }};
  }

  fleet::Hearing heard(std::size_t node, std::size_t receiver, std::int64_t minute) const {
    fleet::Hearing hearing;
    hearing.time = at(static_cast<double>(minute));
    hearing.node = nodes[node];
    hearing.receiver = receivers[receiver];
    hearing.sequence = static_cast<std::uint64_t>(minute);
    return hearing;
  }

  using Missed = std::function<bool(std::int64_t minute)>;
  /// Minutes 0 to 199 at the office, but for what was missed.
  void add(FleetFold& into, std::size_t node, const Missed& missed) const {
    for (std::int64_t minute = 0; minute < 200; ++minute) {
      if (!missed(minute)) into.add(heard(node, 0, minute));
    }
  }

  Deafness deaf(double from, double to, std::size_t receiver = 0) const {
    return {receivers[receiver], at(from), at(to)};
  }

  fleet::Labels labels;
  std::vector<fleet::NodeIndex> nodes;
  std::vector<fleet::ReceiverIndex> receivers;
};

bool between(std::int64_t minute, std::int64_t first, std::int64_t last) {
  return minute >= first && minute <= last;
}

TEST_F(DeafnessTest, StretchesAreJoinedSortedAndMeasured) {
  const KnownDeafness known{
      {deaf(50, 60), deaf(10, 20), deaf(15, 30), deaf(5, 6, 1), deaf(60, 70), deaf(9, 9)}};
  ASSERT_EQ(known.all().size(), 3U);
  EXPECT_EQ(known.all()[0].to, at(30));
  EXPECT_EQ(known.all()[1].to, at(70));
  EXPECT_EQ(known.within(receivers[0], at(25), at(55)), Duration{10 * kMinuteNs});
  EXPECT_EQ(known.within(receivers[0], at(30), at(50)), Duration{});
  EXPECT_EQ(known.within(receivers[1], at(0), at(100)), Duration{kMinuteNs});
  EXPECT_EQ(known.of(receivers[0], at(30), at(50)).size(), 0U);
  EXPECT_EQ(known.of(receivers[0], at(29), at(51)).size(), 2U);
}

TEST_F(DeafnessTest, ANodeThatLostNothingButInOurDeafnessLostNothing) {
  FleetFold log = fold();
  add(log, 0, [](std::int64_t minute) { return between(minute, 51, 79); });
  const Deafness stretches[] = {deaf(50.5, 79.5)};
  const FleetEvidence evidence = log.finish(0.95, stretches);
  const NodeEvidence& node = evidence.nodes[0];
  EXPECT_EQ(node.sequence->missed, 29U) << "the counter is told as it is";
  EXPECT_EQ(node.chain->heard, 171U);
  EXPECT_EQ(node.chain->expected, 171U);
  EXPECT_EQ(node.chain->good_good, 50U + 119U);
  EXPECT_EQ(node.chain->good_bad + node.chain->bad_good + node.chain->bad_bad, 0U);
  ASSERT_EQ(evidence.receiver_silences.size(), 1U);
  const ReceiverSilence& silence = evidence.receiver_silences[0];
  EXPECT_FALSE(silence.listening);
  EXPECT_EQ(silence.missed, 29U);
  EXPECT_EQ(silence.nodes, 1U);
  EXPECT_EQ(silence.from, at(50.5));
  EXPECT_EQ(silence.to, at(79.5));
}

TEST_F(DeafnessTest, WhatANodeLostBesidesStaysItsOwn) {
  FleetFold log = fold();
  // Three before the stretch, two after it, and one by itself.
  add(log, 0, [](std::int64_t minute) { return between(minute, 48, 81) || minute == 120; });
  const Deafness stretches[] = {deaf(50.5, 79.5)};
  const LossChain chain = *log.finish(0.95, stretches).nodes[0].chain;
  EXPECT_EQ(chain.heard, 165U);
  EXPECT_EQ(chain.expected, 165U + 6U);
  EXPECT_EQ(chain.good_bad, 2U);
  EXPECT_EQ(chain.bad_good, 2U);
  EXPECT_EQ(chain.bad_bad, 2U + 1U);
  EXPECT_EQ(chain.good_good, 47U + 37U + 78U);
}

TEST_F(DeafnessTest, OneGapMayHoldSeveralStretches) {
  FleetFold log = fold();
  // Deaf but for the minutes 60, 61 and 75, whose reports were lost all the same.
  add(log, 0, [](std::int64_t minute) { return between(minute, 51, 79); });
  const Deafness stretches[] = {deaf(50.5, 59.5), deaf(61.5, 74.5), deaf(75.5, 79.5)};
  const LossChain chain = *log.finish(0.95, stretches).nodes[0].chain;
  EXPECT_EQ(chain.expected - chain.heard, 3U);
  EXPECT_EQ(chain.bad_bad, 1U);
  EXPECT_EQ(chain.good_bad, 0U);
  EXPECT_EQ(chain.bad_good, 0U);
}

TEST_F(DeafnessTest, WhatAnotherUsualReceiverMissedMeanwhileIsTheNodesOwn) {
  for (const bool both_deaf : {false, true}) {
    FleetFold log = fold();
    for (std::int64_t minute = 0; minute < 200; ++minute) {
      if (between(minute, 51, 79)) continue;
      for (std::size_t receiver = 0; receiver < 2; ++receiver) {
        log.add(heard(0, receiver, minute));
      }
    }
    std::vector<Deafness> stretches{deaf(50.5, 79.5)};
    if (both_deaf) stretches.push_back(deaf(40, 90, 1));
    const LossChain chain = *log.finish(0.95, stretches).nodes[0].chain;
    EXPECT_EQ(chain.expected - chain.heard, both_deaf ? 0U : 29U);
  }
}

TEST_F(DeafnessTest, AReceiverThatHearsTheNodeNowAndThenProvesNothing) {
  FleetFold log = fold();
  add(log, 0, [](std::int64_t minute) { return between(minute, 51, 79); });
  for (const std::int64_t minute : {3, 47, 110, 180}) log.add(heard(0, 1, minute));
  const Deafness stretches[] = {deaf(50.5, 79.5)};
  const FleetEvidence evidence = log.finish(0.95, stretches);
  EXPECT_EQ(evidence.nodes[0].chain->expected, evidence.nodes[0].chain->heard);
  EXPECT_FALSE(evidence.nodes[0].links[0].usual) << "hall";
  EXPECT_TRUE(evidence.nodes[0].links[1].usual) << "office";
}

TEST_F(DeafnessTest, ASilenceThatListeningExplainsIsNotToldTwice) {
  FleetFold log = fold();
  for (std::size_t node = 0; node < 3; ++node) {
    add(log, node,
        [](std::int64_t minute) { return between(minute, 51, 79) || between(minute, 121, 159); });
  }
  const Deafness stretches[] = {deaf(50.5, 79.5)};
  const FleetEvidence evidence = log.finish(0.95, stretches);
  ASSERT_EQ(evidence.receiver_silences.size(), 2U);
  EXPECT_FALSE(evidence.receiver_silences[0].listening);
  EXPECT_TRUE(evidence.receiver_silences[1].listening) << "and that of the receiver is still found";
  EXPECT_EQ(evidence.receiver_silences[1].missed, 3 * 39U);
  for (const NodeEvidence& node : evidence.nodes) {
    EXPECT_EQ(node.chain->expected, node.chain->heard);
  }
}

TEST_F(DeafnessTest, ASilenceThatOutlastsOurDeafnessIsToldForTheRest) {
  FleetFold log = fold();
  for (std::size_t node = 0; node < 3; ++node) {
    add(log, node, [](std::int64_t minute) { return between(minute, 51, 109); });
  }
  const Deafness stretches[] = {deaf(50.5, 70.5)};
  const FleetEvidence evidence = log.finish(0.95, stretches);
  ASSERT_EQ(evidence.receiver_silences.size(), 2U);
  EXPECT_EQ(evidence.receiver_silences[0].missed, 3 * 20U);
  EXPECT_EQ(evidence.receiver_silences[1].missed, 3 * 39U);
  EXPECT_EQ(evidence.receiver_silences[1].from, at(70.5));
  for (const NodeEvidence& node : evidence.nodes) {
    EXPECT_EQ(node.chain->expected, node.chain->heard);
  }
}

TEST_F(DeafnessTest, ShortBreaksThatCostNothingAreNotTold) {
  FleetFold log = fold();
  add(log, 0, [](std::int64_t) { return false; });
  const Deafness stretches[] = {deaf(50.2, 50.8)};
  EXPECT_TRUE(log.finish(0.95, stretches).receiver_silences.empty());
}

TEST_F(DeafnessTest, DeafnessThatReachesBeyondTheLogIsCutToIt) {
  FleetFold log = fold();
  add(log, 0, [](std::int64_t minute) { return between(minute, 100, 198); });
  const Deafness stretches[] = {{receivers[0], at(99.5), {INT64_MAX}},
                                {receivers[1], {INT64_MIN}, {INT64_MAX}}};
  // The report of minute 199 came in nevertheless: from elsewhere.
  const FleetEvidence evidence = log.finish(0.95, stretches);
  EXPECT_EQ(evidence.nodes[0].chain->expected, 101U);
  for (const ReceiverSilence& silence : evidence.receiver_silences) {
    EXPECT_LE(silence.to, at(199));
    EXPECT_GE(silence.from, at(0));
  }
}

TEST_F(DeafnessTest, WhatWasDeliveredLaterWasNotMissedAndLeavesNoDeafness) {
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    RandomStream random{seed, "backfill"};
    std::vector<fleet::Hearing> live;
    for (std::int64_t minute = 0; minute < 600; ++minute) {
      for (std::size_t node = 0; node < 3; ++node) {
        if (!random.bernoulli(0.05)) live.push_back(heard(node, 0, minute));
      }
    }
    // The gateway goes on hearing from minute 200 to 300, and delivers at minute 300.
    std::vector<fleet::Hearing> bulk;
    std::vector<fleet::Hearing> kept;
    for (fleet::Hearing row : live) {
      if (row.time < at(199.5) || row.time >= at(300)) {
        if (row.time == at(300)) bulk.insert(bulk.end(), kept.begin(), kept.end()), kept.clear();
        bulk.push_back(row);
        continue;
      }
      row.arrived_at = at(299.9);
      kept.push_back(row);
    }
    const auto told_of = [&](const std::vector<fleet::Hearing>& rows,
                             std::span<const Deafness> stretches) {
      FleetFold log = fold();
      for (const fleet::Hearing& row : rows) EXPECT_TRUE(log.add(row));
      return told(log.finish(0.95, stretches));
    };
    const Deafness stretches[] = {deaf(199.5, 299.5)};
    EXPECT_EQ(told_of(bulk, stretches), told_of(live, {})) << seed;
  }
}

TEST_F(DeafnessTest, WhatAGatewayCouldNotKeepOfAStretchStaysDeafness) {
  FleetFold log = fold();
  // Of the deaf minutes 51 to 139 it kept the last forty.
  for (std::size_t node = 0; node < 2; ++node) {
    add(log, node, [](std::int64_t minute) { return between(minute, 51, 99); });
  }
  const Deafness stretches[] = {deaf(50.5, 139.5)};
  const FleetEvidence evidence = log.finish(0.95, stretches);
  EXPECT_EQ(evidence.nodes[0].chain->expected, evidence.nodes[0].chain->heard);
  ASSERT_EQ(evidence.receiver_silences.size(), 1U);
  EXPECT_FALSE(evidence.receiver_silences[0].listening);
  EXPECT_EQ(evidence.receiver_silences[0].from, at(50.5));
  EXPECT_EQ(evidence.receiver_silences[0].to, at(100));
}

/// What the chain of a node must be, counted report by report.
enum class Fate : std::uint8_t { heard, missed, nobody_listened };

LossChain counted(const std::vector<Fate>& fates) {
  LossChain chain;
  const auto last = std::find(fates.rbegin(), fates.rend(), Fate::heard);
  const auto first = std::find(fates.begin(), fates.end(), Fate::heard);
  for (auto fate = first; fate != last.base(); ++fate) {
    chain.heard += *fate == Fate::heard ? 1 : 0;
    chain.expected += *fate == Fate::nobody_listened ? 0 : 1;
    if (fate + 1 == last.base()) break;
    const Fate next = *(fate + 1);
    if (*fate == Fate::nobody_listened || next == Fate::nobody_listened) continue;
    const bool good = *fate == Fate::heard;
    ++(good ? (next == Fate::heard ? chain.good_good : chain.good_bad)
            : (next == Fate::heard ? chain.bad_good : chain.bad_bad));
  }
  return chain;
}

TEST_F(DeafnessTest, RandomDeafStretchesLeaveEveryOtherFigureAsTheTruthHasIt) {
  constexpr std::int64_t kMinutes = 1500;
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    RandomStream random{seed, "deafness"};
    std::vector<Deafness> stretches;
    std::vector<std::vector<bool>> is_deaf(2, std::vector<bool>(kMinutes, false));
    for (auto count = 1 + random.below(12); count > 0; --count) {
      const auto from = static_cast<std::int64_t>(random.below(kMinutes));
      const auto to = std::min(kMinutes, from + 1 + static_cast<std::int64_t>(random.below(60)));
      // Both at once, as when the program stops, or one alone.
      const auto who = random.below(4);
      for (std::size_t receiver = 0; receiver < 2; ++receiver) {
        if (who == receiver) continue;
        stretches.push_back(
            deaf(static_cast<double>(from) - 0.5, static_cast<double>(to) - 0.5, receiver));
        for (std::int64_t minute = from; minute < to; ++minute) {
          is_deaf[receiver][static_cast<std::size_t>(minute)] = true;
        }
      }
    }
    FleetFold log = fold();
    std::vector<std::vector<Fate>> fates(3);
    for (std::int64_t minute = 0; minute < kMinutes; ++minute) {
      const auto m = static_cast<std::size_t>(minute);
      for (std::size_t node = 0; node < 3; ++node) {
        Fate fate = is_deaf[0][m] && is_deaf[1][m] ? Fate::nobody_listened : Fate::missed;
        for (std::size_t receiver = 0; receiver < 2; ++receiver) {
          if (random.bernoulli(0.15) || is_deaf[receiver][m]) continue;
          fate = Fate::heard;
          log.add(heard(node, receiver, minute));
        }
        fates[node].push_back(fate);
      }
    }
    const FleetEvidence evidence = log.finish(0.95, stretches);
    for (std::size_t node = 0; node < 3; ++node) {
      const NodeEvidence& is =
          *std::find_if(evidence.nodes.begin(), evidence.nodes.end(),
                        [&](const NodeEvidence& other) { return other.node == nodes[node]; });
      const LossChain truth = counted(fates[node]);
      EXPECT_EQ(is.chain->heard, truth.heard) << seed;
      EXPECT_EQ(is.chain->expected, truth.expected) << seed;
      EXPECT_EQ(is.chain->good_good, truth.good_good) << seed;
      EXPECT_EQ(is.chain->good_bad, truth.good_bad) << seed;
      EXPECT_EQ(is.chain->bad_good, truth.bad_good) << seed;
      EXPECT_EQ(is.chain->bad_bad, truth.bad_bad) << seed;
      EXPECT_NEAR(is.cadence->interval_s, 60, 1e-9);
      EXPECT_NEAR(is.cadence->jitter_s, 0, 1e-6);
      EXPECT_TRUE(is.cadence->changes.empty());
      EXPECT_TRUE(is.sequence->breaks.empty());
      EXPECT_EQ(is.sequence->strays, 0U);
    }
    for (const ReceiverSilence& silence : evidence.receiver_silences) {
      EXPECT_FALSE(silence.listening) << seed;
    }
  }
}

}  // namespace
}  // namespace fieldfare::evidence
