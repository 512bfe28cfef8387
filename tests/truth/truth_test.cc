// SPDX-License-Identifier: Apache-2.0
//
// How honest the estimators are, on 100 generated logs a study. A measured share
// fails only where the limit nearest to it would give so extreme a count less
// than once in 10,000 such tests (kFalseAlarm, exact binomial tail); seeds are
// fixed, so an answer stays the same until the code changes. All logs invented.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <string>
#include <string_view>

#include "program.h"
#include "studies.h"

namespace fieldfare::truth {
namespace {

constexpr std::size_t kLogs = 100;
constexpr double kFalseAlarm = 1e-4;

/// All figures, measured once for all tests of this file.
const std::vector<Figure>& figures() {
  static const std::vector<Figure> all = measured(all_studies(), kLogs, judge_in_process);
  return all;
}

void expect_plausible(const std::vector<Figure>& measured, std::string_view measure) {
  std::size_t checked = 0;
  for (const Figure& figure : measured) {
    if (figure.measure != measure || !figure.limits) continue;
    ++checked;
    EXPECT_TRUE(figure.plausible_at(kFalseAlarm))
        << figure.measure << "/" << figure.study << " is " << figure.value << " " << figure.unit
        << ": " << figure.hits << " of " << figure.trials << ", which is to be a share of "
        << figure.limits->least << " to " << figure.limits->most;
  }
  EXPECT_GT(checked, 0U) << "nothing measures " << measure;
}

TEST(Delivery, IntervalHoldsTheTruthAsOftenAsItSaysWhereThirtyLossRunsAreExpected) {
  expect_plausible(figures(), "delivery-coverage");
}

TEST(Delivery, IntervalHoldsTheTruthAlsoWhereFewLossRunsAreExpected) {
  expect_plausible(figures(), "delivery-coverage-few-runs");
}

TEST(Delivery, IntervalIsHardlyWiderThanTheAsymptoticOne) {
  expect_plausible(figures(), "delivery-width");
}

TEST(Interval, IntervalHoldsTheTruthForWhiteAndForAccumulatingJitter) {
  expect_plausible(figures(), "interval-coverage");
}

TEST(Interval, IntervalIsHardlyWiderThanTheAsymptoticOne) {
  expect_plausible(figures(), "interval-width");
}

TEST(Counts, ReportsHearingsAndDuplicatesAreExact) { expect_plausible(figures(), "counts-exact"); }

TEST(Counts, MissedIsExactWhereGapsAreShorterThanHalfATurnAndHoldNoReset) {
  expect_plausible(figures(), "missed-exact");
}

TEST(Resets, AreFound) { expect_plausible(figures(), "reset-recall"); }

TEST(Resets, ThatAreJudgedWereResets) { expect_plausible(figures(), "reset-precision"); }

TEST(Resets, AreNotInventedWhereThereIsNone) { expect_plausible(figures(), "reset-invented"); }

TEST(IntervalChanges, AreFoundWhereTheyAreInALongLog) {
  expect_plausible(figures(), "change-found");
}

TEST(IntervalChanges, AreFoundByTheTwentiethReportHeardAfterwards) {
  expect_plausible(figures(), "change-found-within-20");
}

TEST(IntervalChanges, AreNotInvented) { expect_plausible(figures(), "change-invented"); }

std::filesystem::path program() {
  const char* const given = std::getenv("FIELDFARE_PROGRAM");
  return given != nullptr ? given : FIELDFARE_BUILT_PROGRAM;
}

/// A few studies through the whole program, one log file each: what it prints has
/// to be as honest as what is judged in this process.
class Program : public testing::Test {
 protected:
  void SetUp() override {
    if (program().empty() || !std::filesystem::exists(program())) {
      GTEST_SKIP() << "the program is not built; FIELDFARE_PROGRAM may name it";
    }
    folder = std::filesystem::path{testing::TempDir()} / "fieldfare-truth";
    std::filesystem::create_directories(folder);
  }
  void TearDown() override {
    if (!folder.empty()) std::filesystem::remove_all(folder);
  }

  std::filesystem::path folder;
};

TEST_F(Program, PrintsAnswersThatAreAsHonest) {
  const Judge by_program = [&](const std::vector<Log>& logs, const Facts& facts) {
    return judge_by_program(program(), folder, logs, facts);
  };
  std::vector<Figure> all;
  for (const Study& study : all_studies()) {
    const bool chosen = study.name.ends_with("10pct/n-1000/16-bit/all-of-it") ||
                        study.name.ends_with("10pct/n-1000/8-bit/all-of-it") ||
                        study.name == "white-1pct/n-500" ||
                        study.name == "accumulating-1pct/n-500" ||
                        study.name == "slower-by-10pct/white-1pct/independent-5pct";
    if (!chosen) continue;
    const std::vector<Figure> some = measured(study, kLogs, by_program);
    all.insert(all.end(), some.begin(), some.end());
  }
  for (const auto* measure :
       {"delivery-coverage", "delivery-width", "interval-coverage", "interval-width",
        "counts-exact", "missed-exact", "reset-recall", "reset-precision", "change-found",
        "change-found-within-20", "change-invented"}) {
    expect_plausible(all, measure);
  }
}

}  // namespace
}  // namespace fieldfare::truth
