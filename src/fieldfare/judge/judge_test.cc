// SPDX-License-Identifier: Apache-2.0
//
// Evidence made by hand (invented), and what must follow from it.
#include "fieldfare/judge/judge.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

namespace fieldfare::judge {
namespace {

using evidence::Estimate;
using evidence::FleetEvidence;
using evidence::LossChain;
using evidence::NodeEvidence;

constexpr std::int64_t kMinuteNs = 60'000'000'000;

/// A node that was heard `reports` times, minute by minute, and lost nothing.
NodeEvidence good_node(std::uint64_t reports) {
  NodeEvidence node;
  node.heard.hearings = node.heard.reports = reports;
  node.sequence = evidence::Sequence{};
  node.sequence->expected = reports;
  node.chain = LossChain{.good_good = reports - 1, .heard = reports, .expected = reports};
  evidence::Cadence cadence;
  cadence.interval_s = 60;
  cadence.interval = Estimate{60, 59.9, 60.1};
  node.cadence = cadence;
  node.signal = evidence::Signal{.receiver = {}, .reports = reports, .mean_dbm = -70, .sd_db = 2};
  return node;
}

/// The same with `runs` losses of `length` reports each.
NodeEvidence lossy_node(std::uint64_t reports, std::uint64_t runs, std::uint64_t length) {
  NodeEvidence node = good_node(reports);
  const std::uint64_t lost = runs * length;
  node.heard.reports -= lost;
  node.sequence->missed = lost;
  node.chain = LossChain{.good_good = reports - 1 - lost - runs,
                         .good_bad = runs,
                         .bad_good = runs,
                         .bad_bad = lost - runs,
                         .heard = reports - lost,
                         .expected = reports};
  return node;
}

NodeTerms card() {
  return {.listed = true,
          .interval = Duration{kMinuteNs},
          .clock_tolerance = 0.05,
          .sensitivity_dbm = -100,
          .overload_dbm = -20};
}

NodeVerdict judged(NodeEvidence node, const NodeTerms& terms, JudgeOptions options = {}) {
  FleetEvidence fleet;
  fleet.nodes.push_back(std::move(node));
  options.with_site = true;
  return judge(
             std::move(fleet), [&](fleet::NodeIndex) { return terms; }, options)
      .nodes.at(0);
}

const Verdict* find(const NodeVerdict& node, Claim claim) {
  const auto found = std::find_if(node.verdicts.begin(), node.verdicts.end(),
                                  [&](const Verdict& verdict) { return verdict.claim == claim; });
  return found == node.verdicts.end() ? nullptr : &*found;
}

Outcome outcome(const NodeVerdict& node, Claim claim) {
  const Verdict* verdict = find(node, claim);
  EXPECT_NE(verdict, nullptr);
  return verdict ? verdict->outcome : Outcome::open;
}

// ---- all claims together

TEST(Judge, ANodeWithNothingAgainstItMeetsAllClaimsAndNeedsNoAdvice) {
  const NodeVerdict node = judged(good_node(1000), card());
  EXPECT_EQ(node.verdicts.size(), 4U);
  EXPECT_EQ(node.worst(), Outcome::met);
  EXPECT_FALSE(node.advice);
  for (const Verdict& verdict : node.verdicts) {
    EXPECT_FALSE(verdict.why.empty());
    EXPECT_FALSE(verdict.needs);
  }
}

TEST(Judge, FactsThatAreAbsentLeaveTheirClaimOut) {
  const NodeVerdict node = judged(good_node(1000), {.listed = true,
                                                    .interval = std::nullopt,
                                                    .clock_tolerance = std::nullopt,
                                                    .sensitivity_dbm = std::nullopt,
                                                    .overload_dbm = std::nullopt});
  EXPECT_EQ(find(node, Claim::cadence), nullptr);
  EXPECT_EQ(find(node, Claim::margin), nullptr);
  EXPECT_EQ(outcome(node, Claim::identity), Outcome::met);
  EXPECT_EQ(outcome(node, Claim::delivery), Outcome::met);
  ASSERT_TRUE(node.margin);
  EXPECT_EQ(node.margin->rssi_mean_dbm, -70);
  EXPECT_FALSE(node.margin->margin_db);
}

TEST(Judge, ANodeWithoutACounterHasNoDelivery) {
  NodeEvidence silent = good_node(100);
  silent.sequence.reset();
  silent.chain.reset();
  const NodeVerdict node = judged(silent, card());
  EXPECT_FALSE(node.delivery);
  EXPECT_EQ(find(node, Claim::delivery), nullptr);
}

TEST(Judge, TheWorstOfItsClaimsIsTheNodesOwn) {
  NodeVerdict node;
  EXPECT_EQ(node.worst(), Outcome::met);
  node.verdicts.push_back({Claim::identity, Outcome::met, "", {}});
  EXPECT_EQ(node.worst(), Outcome::met);
  node.verdicts.push_back({Claim::cadence, Outcome::open, "", {}});
  EXPECT_EQ(node.worst(), Outcome::open);
  node.verdicts.push_back({Claim::delivery, Outcome::failed, "", {}});
  node.verdicts.push_back({Claim::margin, Outcome::open, "", {}});
  EXPECT_EQ(node.worst(), Outcome::failed);
}

// ---- identity

TEST(Judge, AListedNodeThatWasNotHeardHasOnlyItsIdentityOpen) {
  const NodeVerdict node = judged(NodeEvidence{}, card());
  ASSERT_EQ(node.verdicts.size(), 1U);
  EXPECT_EQ(outcome(node, Claim::identity), Outcome::open);
  EXPECT_EQ(node.verdicts[0].needs->reports, 1U);
  ASSERT_TRUE(node.advice);
  EXPECT_NE(node.advice->find("provoke a report"), std::string::npos);
}

TEST(Judge, StrangersAtASiteHaveNoClaimsAndNoAdvice) {
  NodeTerms stranger = card();
  stranger.listed = false;
  const NodeVerdict node = judged(lossy_node(1000, 100, 4), stranger);
  EXPECT_FALSE(node.listed);
  EXPECT_TRUE(node.verdicts.empty());
  EXPECT_FALSE(node.advice);
  EXPECT_TRUE(node.delivery);
}

TEST(Judge, WithoutASiteEveryNodeIsJudgedButNotItsIdentity) {
  FleetEvidence fleet;
  fleet.nodes.push_back(good_node(1000));
  const FleetVerdict verdict =
      judge(std::move(fleet), [](fleet::NodeIndex) { return NodeTerms{}; }, {});
  ASSERT_EQ(verdict.nodes.size(), 1U);
  EXPECT_EQ(find(verdict.nodes[0], Claim::identity), nullptr);
  EXPECT_EQ(outcome(verdict.nodes[0], Claim::delivery), Outcome::met);
}

TEST(Judge, ADoubtfulAddressIsNotEnrolledUnlessItIsListed) {
  for (const bool listed : {false, true}) {
    NodeEvidence doubtful;
    doubtful.doubtful_origin = true;
    doubtful.heard.hearings = doubtful.heard.reports = doubtful.implausible_rows = 1;
    FleetEvidence fleet;
    fleet.nodes.push_back(doubtful);
    NodeTerms terms = card();
    terms.listed = listed;
    const FleetVerdict verdict =
        judge(std::move(fleet), [&](fleet::NodeIndex) { return terms; }, {});
    EXPECT_EQ(verdict.nodes.size(), listed ? 1U : 0U);
    EXPECT_EQ(verdict.not_enrolled.size(), listed ? 0U : 1U);
  }
}

TEST(Judge, ReceiverSilencesAreHandedOn) {
  FleetEvidence fleet;
  fleet.receiver_silences.push_back({{}, {1}, {2}, 3, 2});
  const FleetVerdict verdict =
      judge(std::move(fleet), [](fleet::NodeIndex) { return NodeTerms{}; }, {});
  ASSERT_EQ(verdict.receiver_silences.size(), 1U);
  EXPECT_EQ(verdict.receiver_silences[0].missed, 3U);
}

// ---- quiet

/// Two nodes on one receiver, the first last heard `minutes` before the second.
NodeVerdict quiet_for(std::int64_t minutes, NodeEvidence node,
                      std::vector<evidence::Deafness> deaf = {}) {
  const auto heard_until = [](NodeEvidence& heard, std::int64_t minute) {
    heard.heard.last = Instant{minute * kMinuteNs};
    evidence::Link link;
    link.last = *heard.heard.last;
    heard.links.push_back(link);
  };
  FleetEvidence fleet;
  heard_until(node, 1000);
  fleet.nodes.push_back(std::move(node));
  fleet.nodes.push_back(good_node(1000));
  heard_until(fleet.nodes.back(), 1000 + minutes);
  fleet.deaf = evidence::KnownDeafness{std::move(deaf)};
  return judge(std::move(fleet), [](fleet::NodeIndex) { return card(); }, {}).nodes.at(0);
}

TEST(Judge, ANodeThatFellSilentWhileItsReceiverHeardOthersIsQuietAndNotMet) {
  const NodeVerdict node = quiet_for(60, good_node(1000));
  ASSERT_TRUE(node.quiet);
  EXPECT_EQ(node.quiet->since.ns, 1000 * kMinuteNs);
  EXPECT_EQ(node.quiet->beats, 59U);
  EXPECT_EQ(node.worst(), Outcome::open);
}

TEST(Judge, ASilenceThatOrdinaryLossesExplainIsNotQuiet) {
  EXPECT_FALSE(quiet_for(2, good_node(1000)).quiet);
  // Runs of 20 are ordinary for this one: five minutes are nothing.
  EXPECT_FALSE(quiet_for(5, lossy_node(2000, 30, 20)).quiet);
  EXPECT_TRUE(quiet_for(500, lossy_node(2000, 30, 20)).quiet);
}

TEST(Judge, TimeInWhichNobodyListenedIsNoSilence) {
  const auto deaf = [](std::int64_t from, std::int64_t to) {
    return std::vector<evidence::Deafness>{{{}, {from * kMinuteNs}, {to * kMinuteNs}}};
  };
  // Heard last a minute before listening ended, which began again two before now.
  EXPECT_FALSE(quiet_for(60, good_node(1000), deaf(1001, 1058)).quiet);
  const NodeVerdict node = quiet_for(60, good_node(1000), deaf(1001, 1031));
  ASSERT_TRUE(node.quiet) << "but it was not heard since either";
  EXPECT_EQ(node.quiet->beats, 29U);
}

TEST(Judge, AReceiverThatHardlyHearsTheNodeDoesNotTellItIsQuiet) {
  NodeEvidence node = good_node(1000);
  evidence::Link rare;
  rare.receiver = fleet::ReceiverIndex{1};
  rare.last = {900 * kMinuteNs};
  rare.usual = false;
  for (const bool usual : {false, true}) {
    rare.usual = usual;
    NodeEvidence other = good_node(1000);
    other.heard.last = Instant{1060 * kMinuteNs};
    other.links.push_back(rare);
    other.links[0].last = *other.heard.last;
    NodeEvidence one = node;
    one.heard.last = Instant{1000 * kMinuteNs};
    one.links = {rare, evidence::Link{}};
    one.links[1].last = *one.heard.last;
    FleetEvidence fleet;
    fleet.nodes = {one, other};
    const auto verdict =
        judge(std::move(fleet), [](fleet::NodeIndex) { return card(); }, {}).nodes.at(0);
    EXPECT_EQ(verdict.quiet.has_value(), usual);
  }
}

// ---- cadence

NodeVerdict with_interval(Estimate estimate, const NodeTerms& terms) {
  NodeEvidence node = good_node(100);
  node.cadence->interval_s = estimate.value;
  node.cadence->interval = estimate;
  return judged(node, terms);
}

TEST(Judge, CadenceIsMetOnlyWhereTheWholeIntervalIsWithinTheClocksTolerance) {
  // Card 60 s, clock 5 %: 57 s to 63 s.
  EXPECT_EQ(outcome(with_interval({60, 57.1, 62.9}, card()), Claim::cadence), Outcome::met);
  EXPECT_EQ(outcome(with_interval({60, 56.9, 62}, card()), Claim::cadence), Outcome::open);
  EXPECT_EQ(outcome(with_interval({60, 58, 63.1}, card()), Claim::cadence), Outcome::open);
  EXPECT_EQ(outcome(with_interval({50, 40, 56.9}, card()), Claim::cadence), Outcome::failed);
  EXPECT_EQ(outcome(with_interval({70, 63.1, 80}, card()), Claim::cadence), Outcome::failed);
}

TEST(Judge, CadenceGoesByTheClocksOwnToleranceAndElseByFivePercent) {
  NodeTerms crystal = card();
  crystal.clock_tolerance = 0.0001;
  EXPECT_EQ(outcome(with_interval({60.6, 60.5, 60.7}, crystal), Claim::cadence), Outcome::failed);
  crystal.clock_tolerance.reset();
  EXPECT_EQ(outcome(with_interval({60.6, 60.5, 60.7}, crystal), Claim::cadence), Outcome::met);
}

TEST(Judge, CadenceIsOpenBeforeABeatShowsAndSaysHowLongToWait) {
  NodeEvidence node = good_node(2);
  node.cadence->interval.reset();
  const NodeVerdict verdict = judged(node, card());
  ASSERT_EQ(outcome(verdict, Claim::cadence), Outcome::open);
  EXPECT_EQ(find(verdict, Claim::cadence)->needs->reports, 3U);
  EXPECT_NEAR(find(verdict, Claim::cadence)->needs->seconds.value_or(0), 180, 1e-9);
}

TEST(Judge, OpenCadenceNeedsMoreTheWiderItsInterval) {
  const NodeVerdict narrow = with_interval({62, 60, 64}, card());
  const NodeVerdict wide = with_interval({62, 52, 72}, card());
  const Needs few = *find(narrow, Claim::cadence)->needs;
  const Needs many = *find(wide, Claim::cadence)->needs;
  EXPECT_GE(few.reports, 1U);
  EXPECT_GT(many.reports, few.reports);
  EXPECT_NEAR(*many.seconds, static_cast<double>(many.reports) * 62, 1e-6);
}

TEST(Judge, FailedCadenceAdvisesTheIntervalOfTheCard) {
  const NodeVerdict node = with_interval({300, 299, 301}, card());
  ASSERT_TRUE(node.advice);
  EXPECT_NE(node.advice->find("set its interval to 60 s"), std::string::npos);
}

// ---- delivery

TEST(Judge, DeliveryIsMetOnceWaldsLimitIsReachedAndNotAReportEarlier) {
  // 97 % against 90 %, 5 % and 5 %, losses by ones: without a loss the limit ln 19
  // is reached after ln 19 / ln((1 - 0.0309) / (1 - 0.1111)) = 34.1 steps: 36 reports.
  // Worked out by hand from Wald's formulas (from memory).
  const double good = 0.03 / 0.97;
  const double bad = 0.10 / 0.90;
  const double steps = std::log(19.0) / std::log((1 - good) / (1 - bad));
  const auto reports = static_cast<std::uint64_t>(std::ceil(steps)) + 1;
  ASSERT_EQ(reports, 36U);
  EXPECT_EQ(outcome(judged(good_node(reports), card()), Claim::delivery), Outcome::met);
  const NodeVerdict before = judged(good_node(reports - 1), card());
  ASSERT_EQ(outcome(before, Claim::delivery), Outcome::open);
  EXPECT_EQ(find(before, Claim::delivery)->needs->reports, 1U);
  EXPECT_NEAR(*find(before, Claim::delivery)->needs->seconds, 60, 1e-9);
}

TEST(Judge, DeliveryFailsWhereLossRunsBeginTooOften) {
  const NodeVerdict node = judged(lossy_node(200, 30, 1), card());
  EXPECT_EQ(outcome(node, Claim::delivery), Outcome::failed);
  ASSERT_TRUE(node.advice);
  EXPECT_NE(node.advice->find("second receiver"), std::string::npos);
}

TEST(Judge, DeliveryOfANodeInBetweenStaysOpenAndSaysHowMuchIsNeeded) {
  const NodeVerdict node = judged(lossy_node(40, 2, 1), card());
  ASSERT_EQ(outcome(node, Claim::delivery), Outcome::open);
  EXPECT_GT(find(node, Claim::delivery)->needs->reports, 10U);
  ASSERT_TRUE(node.advice);
  EXPECT_NE(node.advice->find("wait for about"), std::string::npos);
}

TEST(Judge, DeliveryIsOpenWithLessThanTwoNumberedReports) {
  NodeEvidence node = good_node(2);
  node.chain->expected = node.chain->heard = 1;
  const NodeVerdict verdict = judged(node, card());
  EXPECT_FALSE(verdict.delivery);
  EXPECT_EQ(outcome(verdict, Claim::delivery), Outcome::open);
}

TEST(Judge, DeliveryTellsSharesRunsAndAnIntervalThatHoldsItsOwnShare) {
  const Delivery delivery = *judged(lossy_node(1000, 10, 4), card()).delivery;
  EXPECT_EQ(delivery.heard, 960U);
  EXPECT_EQ(delivery.expected, 1000U);
  EXPECT_DOUBLE_EQ(delivery.ratio, 0.96);
  EXPECT_LT(delivery.low, 0.96);
  EXPECT_GT(delivery.high, 0.96);
  EXPECT_DOUBLE_EQ(delivery.mean_loss_run.value_or(0), 4);
  EXPECT_DOUBLE_EQ(delivery.mean_good_run.value_or(0), 95.9);
  const Delivery perfect = *judged(good_node(12), card()).delivery;
  EXPECT_EQ(perfect.ratio, 1);
  EXPECT_LT(perfect.low, 0.95);
  EXPECT_EQ(perfect.high, 1);
  EXPECT_FALSE(perfect.mean_loss_run);
  // One long run at the end of little: the posterior alone would leave the share out.
  const Delivery one = *judged(lossy_node(30, 1, 25), card()).delivery;
  EXPECT_LE(one.low, one.ratio);
  EXPECT_GE(one.high, one.ratio);
}

TEST(Judge, ANodeWithFewLossesIsTakenToHaveTheSitesLossRuns) {
  const auto with_neighbour = [](std::uint64_t runs, std::uint64_t length) {
    FleetEvidence fleet;
    fleet.nodes.push_back(good_node(60));
    fleet.nodes.push_back(lossy_node(5000, runs, length));
    const auto verdict = judge(std::move(fleet), [](fleet::NodeIndex) { return card(); }, {});
    return outcome(verdict.nodes[0], Claim::delivery);
  };
  // 60 heard of 60 pass where losses are single; where they come by eights, runs
  // begin so seldom that 60 reports without one say little.
  EXPECT_EQ(with_neighbour(200, 1), Outcome::met);
  EXPECT_EQ(with_neighbour(200, 8), Outcome::open);
}

// ---- margin

NodeVerdict with_level(double mean_dbm, double sd_db, std::uint64_t reports) {
  NodeEvidence node = good_node(std::max<std::uint64_t>(reports, 100));
  node.signal =
      evidence::Signal{.receiver = {}, .reports = reports, .mean_dbm = mean_dbm, .sd_db = sd_db};
  return judged(node, card());
}

TEST(Judge, MarginIsMetOpenOrFailedByTwoStandardErrors) {
  // Sensitivity -100 dBm, wanted 10 dB; 2 * 5 / sqrt(100) = 1 dB either way.
  EXPECT_EQ(outcome(with_level(-88.9, 5, 100), Claim::margin), Outcome::met);
  EXPECT_EQ(outcome(with_level(-89.1, 5, 100), Claim::margin), Outcome::open);
  EXPECT_EQ(outcome(with_level(-90.9, 5, 100), Claim::margin), Outcome::open);
  EXPECT_EQ(outcome(with_level(-91.1, 5, 100), Claim::margin), Outcome::failed);
}

TEST(Judge, MarginIsNeverSurerThanHalfADecibel) {
  EXPECT_EQ(outcome(with_level(-89.6, 0.01, 10'000), Claim::margin), Outcome::open);
  EXPECT_EQ(outcome(with_level(-89.4, 0.01, 10'000), Claim::margin), Outcome::met);
}

TEST(Judge, MarginStaysOpenBeforeThreeReports) {
  const NodeVerdict node = with_level(-50, 1, 2);
  ASSERT_EQ(outcome(node, Claim::margin), Outcome::open);
  EXPECT_EQ(find(node, Claim::margin)->needs->reports, 1U);
}

TEST(Judge, AnOverloadedReceiverFailsTheMarginHoweverStrongTheSignal) {
  const NodeVerdict node = with_level(-15, 1, 100);
  ASSERT_EQ(outcome(node, Claim::margin), Outcome::failed);
  EXPECT_NE(find(node, Claim::margin)->why.find("overloads"), std::string::npos);
  NodeTerms no_limit = card();
  no_limit.overload_dbm.reset();
  NodeEvidence close = good_node(100);
  close.signal->mean_dbm = -15;
  EXPECT_EQ(outcome(judged(close, no_limit), Claim::margin), Outcome::met);
}

TEST(Judge, UnheardReportsLowerTheMarginOfAWeakNodeAndHardlyThatOfAStrongOne) {
  NodeEvidence weak = lossy_node(400, 100, 1);
  weak.signal = evidence::Signal{.receiver = {}, .reports = 100, .mean_dbm = -96, .sd_db = 2.5};
  const Margin margin = *judged(weak, card()).margin;
  EXPECT_LT(*margin.corrected_mean_dbm, -96.5);
  EXPECT_DOUBLE_EQ(*margin.margin_db, *margin.corrected_mean_dbm + 100);
  NodeEvidence strong = lossy_node(400, 100, 1);
  strong.signal = evidence::Signal{.receiver = {}, .reports = 100, .mean_dbm = -60, .sd_db = 2.5};
  EXPECT_NEAR(*judged(strong, card()).margin->corrected_mean_dbm, -60, 0.01);
}

}  // namespace
}  // namespace fieldfare::judge
