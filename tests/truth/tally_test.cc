// SPDX-License-Identifier: Apache-2.0
#include "tally.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "program.h"
#include "studies.h"

namespace fieldfare::truth {
namespace {

/// A judge who was told the truth.
Judged omniscient(const Truth& truth) {
  Judged judged;
  judged.reports = truth.heard;
  judged.hearings = truth.hearings;
  judged.duplicates = truth.duplicates;
  judged.expected = truth.expected;
  judged.missed = truth.missed();
  judged.strays = truth.strays;
  for (const Restart& restart : truth.restarts) {
    judged.restarts.push_back({restart.at_ns, JudgedKind::reset});
  }
  for (const Change& change : truth.changes) {
    judged.changes.push_back({change.at_ns, change.from_s, change.to_s});
  }
  judged.delivery = Estimated{truth.delivery, truth.delivery - 0.01, truth.delivery + 0.01};
  judged.interval_s = Estimated{31, truth.last_interval_s - 1e-9, truth.last_interval_s + 1e-9};
  return judged;
}

Study eventful() {
  Study study{"eventful", Setting{}};
  study.setting.losses = {Loss::independent(0.1)};
  study.setting.white_jitter = 0.01;
  study.setting.resets = {300};
  study.setting.changes = {{600, 1.1}};
  study.asks_delivery = study.asks_interval = study.asks_counts = study.asks_strays = true;
  return study;
}

const Figure* find(const std::vector<Figure>& figures, const std::string& measure) {
  const auto found = std::ranges::find(figures, measure, &Figure::measure);
  return found == figures.end() ? nullptr : &*found;
}

double value_of(const std::vector<Figure>& figures, const std::string& measure) {
  const Figure* const figure = find(figures, measure);
  return figure == nullptr ? -1 : figure->value;
}

TEST(Tally, GivesFullMarksToAJudgeWhoKnowsTheTruth) {
  const Study study = eventful();
  const Log log = generate(study.setting);
  Tally tally{study};
  tally.add(log, omniscient(log.truth));
  tally.add_short(log, omniscient(log.truth));
  const std::vector<Figure> figures = tally.figures();
  for (const auto* measure :
       {"delivery-coverage", "interval-coverage", "counts-exact", "missed-exact", "strays-exact",
        "reset-recall", "reset-precision", "change-found", "change-found-within-20"}) {
    EXPECT_EQ(value_of(figures, measure), 1) << measure;
  }
  EXPECT_EQ(value_of(figures, "change-invented"), 0);
}

TEST(Tally, GivesNoMarksToAJudgeWhoSaysNothing) {
  const Study study = eventful();
  const Log log = generate(study.setting);
  Tally tally{study};
  tally.add(log, Judged{});
  const std::vector<Figure> figures = tally.figures();
  for (const auto* measure :
       {"delivery-coverage", "interval-coverage", "reset-recall", "change-found"}) {
    EXPECT_EQ(value_of(figures, measure), 0) << measure;
  }
  for (const auto* measure : {"counts-exact", "missed-exact"}) {
    EXPECT_EQ(find(figures, measure), nullptr) << measure << " isn't asked over a lost reset";
  }
  EXPECT_EQ(find(figures, "reset-precision"), nullptr) << "nothing was claimed";
}

TEST(Tally, CountsWhatIsInventedOrMisplaced) {
  const Study study = eventful();
  const Log log = generate(study.setting);
  Judged judged = omniscient(log.truth);
  judged.restarts.push_back({log.truth.sent[100].time_ns, JudgedKind::jump});
  const auto heard_after = [&](std::ptrdiff_t reports) {
    for (std::size_t k = 600;; ++k) {
      if (log.truth.sent[k].heard_ns && reports-- == 0) return *log.truth.sent[k].heard_ns;
    }
  };
  judged.changes[0].at_ns = heard_after(25);
  judged.delivery->high = judged.delivery->low;
  ++judged.missed;
  Tally tally{study};
  tally.add(log, judged);
  const std::vector<Figure> figures = tally.figures();
  EXPECT_EQ(value_of(figures, "reset-precision"), 0.5);
  EXPECT_EQ(value_of(figures, "change-found"), 0);
  EXPECT_EQ(value_of(figures, "change-invented"), 1);
  EXPECT_EQ(value_of(figures, "delivery-coverage"), 0);
}

TEST(Tally, ShortenedLogEndsWithTheTwentiethReportHeardAfterTheChange) {
  Study study = eventful();
  study.setting.losses = {Loss{}};
  study.setting.resets.clear();
  study.setting.shuffle_window = 10;
  const Log log = shortened(generate(study.setting));
  EXPECT_EQ(std::ranges::max(log.rows, {}, &Row::time_ns).time_ns, log.truth.sent[620].time_ns);
  EXPECT_EQ(log.rows.size(), 621U);
}

TEST(Figure, HoldsAtFaceValueAndIsPlausibleWithinChance) {
  const Figure figure{"m", "s", 0.9, "share", 90, 100, Limits{0.925, 0.975}};
  EXPECT_FALSE(figure.holds());
  EXPECT_TRUE(figure.plausible_at(1e-4));
}

TEST(Studies, HaveNamesOfTheirOwnThatFitIntoALine) {
  std::set<std::string> names;
  for (const Study& study : all_studies()) {
    EXPECT_TRUE(names.insert(study.name).second) << study.name;
    EXPECT_EQ(study.name.find_first_of(" %\t"), std::string::npos) << study.name;
  }
}

// The shape is that of the published answer of `judge`, the numbers are invented.
TEST(Answer, IsReadByTheAddressOfItsNodes) {
  const std::vector<Judged> judged = read_answer(R"({"schema": "s", "nodes": [
    {"node": "x", "address": "0200000000000001",
     "heard": {"reports": 3, "hearings": 5, "duplicates": 1},
     "sequence": {"expected": 4, "missed": 1, "strays": 2,
                  "resets": [{"at": "2001-09-09T01:46:40.5Z", "kind": "jump"}]},
     "cadence": {"interval_s": 31.5, "low": 31, "high": 32, "jitter_s": 0.1,
                 "changes": [{"at": "2001-09-09T01:46:40Z", "from_s": 30, "to_s": 31.5}]},
     "delivery": {"ratio": 0.75, "low": 0.3, "high": 1}}]})",
                                                 2);
  EXPECT_EQ(judged[0].hearings, 0U);
  EXPECT_EQ(judged[1].hearings, 5U);
  EXPECT_EQ(judged[1].missed, 1U);
  ASSERT_EQ(judged[1].restarts.size(), 1U);
  EXPECT_EQ(judged[1].restarts[0].at_ns, 1'000'000'000'500'000'000);
  EXPECT_EQ(judged[1].restarts[0].kind, JudgedKind::jump);
  EXPECT_EQ(judged[1].interval_s->high, 32);
  EXPECT_EQ(judged[1].changes[0].to_s, 31.5);
  EXPECT_EQ(judged[1].delivery->low, 0.3);
}

}  // namespace
}  // namespace fieldfare::truth
