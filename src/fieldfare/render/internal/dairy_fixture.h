// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <vector>

#include "fieldfare/render/judge_view.h"

namespace fieldfare::render::internal {

/// Three judged nodes at Tarn Dairy, made up by hand for the tests of this
/// module: one that failed, one open, one met; a silent receiver; a stranger.
class DairyFixture {
 public:
  DairyFixture() {
    const auto cave = *labels.list_node("cave 1 north", parse_address("02:4D:21:00:00:00:5C:E7"));
    const auto brine = *labels.list_node("brine", parse_address("024D210000005CE8"));
    const auto tank = *labels.list_node("whey tank", parse_address("024D210000005CE9"));
    const auto stranger = *labels.node("00BC");
    const auto office = *labels.receiver("office");

    verdict.nodes.push_back(judged(cave, office, judge::Outcome::met));
    verdict.nodes.push_back(judged(brine, office, judge::Outcome::open));
    verdict.nodes.push_back(judged(tank, office, judge::Outcome::failed));
    verdict.nodes[2].advice = "look for what stands between it and the office";
    verdict.receiver_silences.push_back({office, at(600), at(600 + 19 * 3600 + 13 * 60), 6585, 2});
    evidence::NodeEvidence unknown;
    unknown.node = stranger;
    unknown.heard = {.hearings = 1, .reports = 1, .first = at(70), .last = at(70)};
    unknown.doubtful_origin = true;
    verdict.not_enrolled.push_back(unknown);

    question.with_site = true;
    question.site_name = "Tarn Dairy";
    question.invented = true;
    run.rows_read = 25;
    run.rows_skipped = 1;
    run.skipped.push_back({{"night.csv", 17, 3},
                           "bad-number",
                           "the level is no number",
                           "a number in dBm, or an empty cell",
                           "2026-03-02T,\\x1B"});
    run.skipped_by_reason["bad-number"] = 1;
  }

  JudgeView view() const { return {verdict, labels, run, question}; }

  /// Seconds after 2026-03-02T06:00:00Z.
  static Instant at(std::int64_t s) { return {(1'772'431'200 + s) * 1'000'000'000}; }

  fleet::Labels labels;
  judge::FleetVerdict verdict;
  RunFacts run;
  JudgeQuestion question;

 private:
  static judge::NodeVerdict judged(fleet::NodeIndex node, fleet::ReceiverIndex receiver,
                                   judge::Outcome outcome) {
    judge::NodeVerdict judged;
    evidence::NodeEvidence& heard = judged.evidence;
    heard.node = node;
    heard.heard = {.hearings = 8, .reports = 7, .duplicates = 1, .first = at(0), .last = at(480)};
    heard.sequence.emplace();
    heard.sequence->expected = 8;
    heard.sequence->missed = 1;
    heard.sequence->breaks.push_back(
        {at(420), evidence::BreakKind::stood_still, Duration::seconds(7200)});
    heard.cadence.emplace();
    heard.cadence->interval_s = 60.25;
    heard.cadence->interval = evidence::Estimate{60.25, 60.1, 60.4};
    heard.cadence->jitter_s = 0.5;
    heard.longest_gap = Duration{120'500'000'000};
    heard.links.push_back({receiver, 7, at(0), at(480), 7, -87.25, 2.5});
    heard.supply_last_v = 3.1;
    for (std::uint64_t n = 1; n <= 8; ++n) {
      if (n != 4) heard.recent.push_back({at(60 * static_cast<std::int64_t>(n)), n, n == 7, -87.0});
    }
    judged.listed = true;
    judged.delivery = judge::Delivery{7, 8, 0.875, 0.5, 0.99, 0.95, 1.0, 3.5};
    judged.margin = judge::Margin{-87.25, 2.5, -87.5, 16.5};
    judge::Verdict delivery{judge::Claim::delivery, outcome, "7 of 8 heard", {}};
    if (outcome == judge::Outcome::open) delivery.needs = judge::Needs{35, 2108.75};
    judged.verdicts.push_back(delivery);
    return judged;
  }
};

}  // namespace fieldfare::render::internal
