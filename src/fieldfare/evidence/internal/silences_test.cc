// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/evidence/internal/silences.h"

#include <gtest/gtest.h>

#include <deque>
#include <vector>

#include "fieldfare/evidence/test_support.h"

namespace fieldfare::evidence::internal {
namespace {

constexpr fleet::ReceiverIndex kOffice{0};
constexpr fleet::ReceiverIndex kHall{1};

/// Nodes that report every minute from minute 0 to 1000 and lose nothing but what
/// the test says.
class Fleet {
 public:
  NodeEvidence& node(const std::vector<fleet::ReceiverIndex>& receivers = {kOffice}) {
    NodeEvidence& made = nodes_.emplace_back();
    made.cadence = Cadence{.interval_s = 60, .interval = {}, .jitter_s = 0, .changes = {}};
    made.chain = LossChain{.good_good = 1000, .heard = 1001, .expected = 1001};
    for (const fleet::ReceiverIndex receiver : receivers) {
      made.links.push_back(
          {.receiver = receiver, .reports = 1001, .first = {0}, .last = {1000 * kMinuteNs}});
    }
    gaps_.emplace_back();
    return made;
  }
  /// The latest node misses the reports between two minutes.
  void gap(std::int64_t from, std::int64_t to) {
    const auto missed = static_cast<std::uint64_t>(to - from - 1);
    NodeEvidence& node = nodes_.back();
    node.chain->good_good -= missed + 1;
    ++node.chain->good_bad;
    ++node.chain->bad_good;
    node.chain->bad_bad += missed - 1;
    node.chain->heard -= missed;
    for (Link& link : node.links) link.reports -= missed;
    gaps_.back().push_back({from * kMinuteNs, to * kMinuteNs, missed});
  }
  void quiet(fleet::ReceiverIndex receiver, std::int64_t from, std::int64_t to) {
    activity_.push_back({receiver, {{{from * kMinuteNs}, {to * kMinuteNs}}}});
  }
  std::vector<ReceiverSilence> explain() {
    std::vector<NodeSilences> nodes;
    for (std::size_t i = 0; i < nodes_.size(); ++i) nodes.push_back({&nodes_[i], gaps_[i]});
    return explain_silences(activity_, nodes);
  }
  const NodeEvidence& at(std::size_t i) const { return nodes_[i]; }

 private:
  std::deque<NodeEvidence> nodes_;
  std::vector<std::vector<Gap>> gaps_;
  std::vector<ReceiverActivity> activity_;
};

TEST(Silences, TwoNodesSilentTogetherAreOneSilenceOfTheirReceiver) {
  Fleet fleet;
  for (int i = 0; i < 2; ++i) {
    fleet.node();
    fleet.gap(100, 131);
  }
  fleet.quiet(kOffice, 100, 131);
  const auto silences = fleet.explain();
  ASSERT_EQ(silences.size(), 1U);
  EXPECT_EQ(silences[0].receiver, kOffice);
  EXPECT_EQ(silences[0].from.ns, 100 * kMinuteNs);
  EXPECT_EQ(silences[0].to.ns, 131 * kMinuteNs);
  EXPECT_EQ(silences[0].missed, 60U);
  EXPECT_EQ(silences[0].nodes, 2U);
}

TEST(Silences, WhatAReceiverMissedIsNotChargedToItsNodes) {
  Fleet fleet;
  for (int i = 0; i < 2; ++i) {
    fleet.node();
    fleet.gap(100, 131);
  }
  fleet.quiet(kOffice, 100, 131);
  fleet.explain();
  for (std::size_t i = 0; i < 2; ++i) {
    const LossChain& chain = *fleet.at(i).chain;
    EXPECT_EQ(chain.expected, chain.heard);
    EXPECT_EQ(chain.good_bad + chain.bad_good + chain.bad_bad, 0U);
    EXPECT_EQ(chain.good_good, 1000U - 31U);
  }
}

TEST(Silences, WhatANodeMissedAroundTheSilenceStaysItsOwn) {
  Fleet fleet;
  fleet.node();
  fleet.gap(95, 140);  // 5 before the silence (96 to 100), 9 after it (131 to 139)
  fleet.node();
  fleet.gap(100, 131);
  fleet.quiet(kOffice, 100, 131);
  const auto silences = fleet.explain();
  ASSERT_EQ(silences.size(), 1U);
  const LossChain& chain = *fleet.at(0).chain;
  EXPECT_EQ(chain.expected - chain.heard, 44U - (silences[0].missed - 30U));
  // Good to bad before it, bad to good after it, and what lies between the misses.
  EXPECT_EQ(chain.good_bad, 1U);
  EXPECT_EQ(chain.bad_good, 1U);
  EXPECT_EQ(chain.bad_bad + 2, chain.expected - chain.heard);
}

TEST(Silences, OneNodeAloneSaysNothingOfItsReceiver) {
  Fleet fleet;
  fleet.node();
  fleet.gap(100, 131);
  fleet.quiet(kOffice, 100, 131);
  EXPECT_TRUE(fleet.explain().empty());
  EXPECT_EQ(fleet.at(0).chain->expected, 1001U);
}

TEST(Silences, NodesThatSleptWereNotDue) {
  // The receiver heard nothing, but neither counter went on.
  Fleet fleet;
  fleet.node();
  fleet.node();
  fleet.quiet(kOffice, 100, 131);
  EXPECT_TRUE(fleet.explain().empty());
}

TEST(Silences, ChanceThatHappensOnceInThousandIsNoSilence) {
  // Two nodes that miss every fourth report: three minutes of nothing are ordinary.
  Fleet fleet;
  for (int i = 0; i < 2; ++i) {
    NodeEvidence& node = fleet.node();
    fleet.gap(100, 103);
    for (Link& link : node.links) link.reports = 750;
    node.chain->bad_good = 250;
  }
  fleet.quiet(kOffice, 100, 103);
  EXPECT_TRUE(fleet.explain().empty());
}

TEST(Silences, AReceiverMayBeSilentWhileAnotherHearsAllItsNodes) {
  Fleet fleet;
  for (int i = 0; i < 2; ++i) fleet.node({kOffice, kHall});
  fleet.quiet(kHall, 100, 131);
  const auto silences = fleet.explain();
  ASSERT_EQ(silences.size(), 1U);
  EXPECT_EQ(silences[0].receiver, kHall);
  EXPECT_EQ(silences[0].missed, 0U);
  EXPECT_EQ(fleet.at(0).chain->expected, 1001U);
}

TEST(Silences, AReportMissedByTwoSilentReceiversIsTakenOutOnce) {
  Fleet fleet;
  for (int i = 0; i < 2; ++i) {
    fleet.node({kOffice, kHall});
    fleet.gap(100, 131);
  }
  fleet.quiet(kOffice, 100, 131);
  fleet.quiet(kHall, 90, 140);
  EXPECT_EQ(fleet.explain().size(), 2U);
  EXPECT_EQ(fleet.at(0).chain->expected, fleet.at(0).chain->heard);
}

TEST(Silences, AReceiverThatServedNobodyYetIsNotSilent) {
  Fleet fleet;
  for (int i = 0; i < 2; ++i) {
    NodeEvidence& node = fleet.node();
    fleet.gap(100, 131);
    node.links[0].first = {120 * kMinuteNs};
  }
  fleet.quiet(kOffice, 100, 131);
  EXPECT_TRUE(fleet.explain().empty());
}

}  // namespace
}  // namespace fieldfare::evidence::internal
