// SPDX-License-Identifier: Apache-2.0
#include "tally.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <cstdlib>

namespace fieldfare::truth {
namespace {

constexpr std::int64_t kSameInstantNs = 1'000'000;
constexpr std::ptrdiff_t kSoon = 20;  // heard reports

// What has to hold, as the project has set itself.
constexpr Limits kCoverage{0.925, 0.975};
constexpr Limits kCoverageOfFewRuns{0.92, 1};
constexpr double kEnoughRuns = 30;
constexpr double kWidest = 1.2;
constexpr Limits kMedian{0.5, 1};
constexpr Limits kAlways{1, 1};
constexpr Limits kNearlyAlways{0.99, 1};
constexpr Limits kRarely{0, 0.01};
constexpr Limits kNever{0, 0.001};  // "none" in 1,000 logs, one forgiven
constexpr double kMostLossForResets = 0.2;

bool holds_truth(const Estimated* estimate, double truth) {
  return estimate != nullptr && estimate->low <= truth && truth <= estimate->high;
}

bool same_instant(std::int64_t a_ns, std::int64_t b_ns) {
  return std::abs(a_ns - b_ns) <= kSameInstantNs;
}

std::ptrdiff_t heard_between(const Truth& truth, std::int64_t a_ns, std::int64_t b_ns) {
  const auto [first_ns, last_ns] = std::minmax(a_ns, b_ns);
  return std::ranges::count_if(truth.sent, [&, first = first_ns, last = last_ns](const auto& sent) {
    return sent.heard_ns && *sent.heard_ns > first && *sent.heard_ns <= last;
  });
}

bool matches(const Truth& truth, const Change& change, const JudgedChange& judged) {
  return heard_between(truth, change.at_ns, judged.at_ns) <= kSoon &&
         (change.to_s > change.from_s) == (judged.to_s > judged.from_s);
}

bool is_found(const Truth& truth, const std::vector<JudgedChange>& judged) {
  return std::ranges::all_of(truth.changes, [&](const Change& change) {
    return std::ranges::any_of(judged, [&](const auto& j) { return matches(truth, change, j); });
  });
}

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::ranges::nth_element(values, middle);
  return *middle;
}

}  // namespace

bool Study::has_restarts() const {
  return !setting.resets.empty() || setting.random_resets > 0 || setting.reset_rate > 0 ||
         !setting.standstills.empty();
}

bool Figure::holds() const {
  if (!limits || trials == 0) return true;
  const double share = static_cast<double>(hits) / static_cast<double>(trials);
  return share >= limits->least && share <= limits->most;
}

bool Figure::plausible_at(double false_alarm) const {
  return !limits || trials == 0 || plausible(hits, trials, *limits, false_alarm);
}

void Tally::Share::count(bool hit) {
  ++trials;
  hits += hit ? 1 : 0;
}

Tally::Tally(const Study& study) : study_{study}, pattern_{loss_pattern(study.setting)} {}

void Tally::add(const Log& log, const Judged& judged) {
  const Truth& truth = log.truth;
  const auto pointer = [](const auto& estimate) { return estimate ? &*estimate : nullptr; };
  if (study_.asks_delivery) add_delivery(truth, pointer(judged.delivery));
  if (study_.asks_interval) add_interval(truth, pointer(judged.interval_s));
  const bool restarts_agree = add_restarts(truth, judged);
  if (study_.asks_counts) add_counts(truth, judged, restarts_agree);
  if (study_.asks_strays) strays_.count(judged.strays == truth.strays);
  add_changes(truth, judged);
}

void Tally::add_short(const Log& log, const Judged& judged) {
  change_found_early_.count(is_found(log.truth, judged.changes));
}

void Tally::add_delivery(const Truth& truth, const Estimated* estimate) {
  delivery_.count(holds_truth(estimate, truth.delivery));
  if (estimate == nullptr || pattern_.variance == 0) return;
  delivery_widths_.push_back((estimate->high - estimate->low) /
                             delivery_width(pattern_, truth.expected));
}

void Tally::add_interval(const Truth& truth, const Estimated* estimate) {
  interval_.count(holds_truth(estimate, truth.last_interval_s));
  const Setting& setting = study_.setting;
  const bool mixed = setting.white_jitter > 0 && setting.accumulating_jitter > 0;
  if (estimate == nullptr || mixed || !truth.restarts.empty() || !truth.changes.empty()) return;
  interval_widths_.push_back((estimate->high - estimate->low) / interval_width(setting, truth));
}

/// True where the judged restarts are the true ones, all of them and no other.
bool Tally::add_restarts(const Truth& truth, const Judged& judged) {
  const auto is_claimed = [&](const Restart& restart) {
    return std::ranges::any_of(judged.restarts,
                               [&](const auto& j) { return same_instant(j.at_ns, restart.at_ns); });
  };
  bool all_claimed = true;
  for (const Restart& restart : truth.restarts) {
    all_claimed = all_claimed && is_claimed(restart);
    if (restart.identifiable) recall_.count(is_claimed(restart));
  }
  std::uint64_t invented = 0;
  for (const JudgedRestart& claim : judged.restarts) {
    const auto real = std::ranges::find_if(
        truth.restarts, [&](const auto& r) { return same_instant(claim.at_ns, r.at_ns); });
    if (real == truth.restarts.end()) ++invented;
    if (real == truth.restarts.end() || real->identifiable) {
      precision_.count(real != truth.restarts.end());
    }
  }
  restart_invented_.count(invented > 0);
  return all_claimed && invented == 0;
}

void Tally::add_counts(const Truth& truth, const Judged& judged, bool restarts_agree) {
  // Where a reset was overlooked or invented, its rows count elsewhere and a gap
  // holds it: the figures of resets tell so, and nothing more is asked here.
  if (!restarts_agree) return;
  counts_.count(judged.reports == truth.heard && judged.hearings == truth.hearings &&
                judged.duplicates == truth.duplicates);
  const std::uint64_t half_turn = std::uint64_t{1} << (study_.setting.counter_bits - 1);
  if (truth.longest_lost_run + 1 >= half_turn) return;
  missed_.count(judged.missed == truth.missed() && judged.expected == truth.expected);
}

void Tally::add_changes(const Truth& truth, const Judged& judged) {
  if (!truth.changes.empty()) change_found_.count(is_found(truth, judged.changes));
  change_invented_.count(std::ranges::any_of(judged.changes,
                                             [&](const JudgedChange& claim) {
                                               return std::ranges::none_of(
                                                   truth.changes, [&](const auto& change) {
                                                     return matches(truth, change, claim);
                                                   });
                                             }) ||
                         judged.changes.size() > truth.changes.size());
}

std::vector<Figure> Tally::figures() const {
  std::vector<Figure> figures;
  const auto share = [&](std::string measure, const Share& counted, std::optional<Limits> limits) {
    if (counted.trials == 0) return;
    const double value = static_cast<double>(counted.hits) / static_cast<double>(counted.trials);
    figures.push_back(
        {std::move(measure), study_.name, value, "share", counted.hits, counted.trials, limits});
  };
  const auto width = [&](std::string measure, const std::vector<double>& widths, bool limited) {
    if (widths.empty()) return;
    const auto narrow = std::ranges::count_if(widths, [](double w) { return w <= kWidest; });
    figures.push_back({std::move(measure), study_.name, median(widths), "ratio",
                       static_cast<std::uint64_t>(narrow), widths.size(),
                       limited ? std::optional{kMedian} : std::nullopt});
  };
  const auto reports = static_cast<double>(study_.setting.reports);
  const bool enough_runs = pattern_.runs_a_report * reports >= kEnoughRuns;
  share(enough_runs ? "delivery-coverage" : "delivery-coverage-few-runs", delivery_,
        enough_runs ? kCoverage : kCoverageOfFewRuns);
  width("delivery-width", delivery_widths_, enough_runs);

  const Setting& setting = study_.setting;
  const bool mixed = setting.white_jitter > 0 && setting.accumulating_jitter > 0;
  share("interval-coverage", interval_, mixed ? std::nullopt : std::optional{kCoverage});
  width("interval-width", interval_widths_, true);

  share("counts-exact", counts_, kAlways);
  share("missed-exact", missed_, kAlways);
  share("strays-exact", strays_, std::nullopt);

  const bool asked = pattern_.share <= kMostLossForResets;
  const auto where_asked = [&](const Limits& limits) {
    return asked ? std::optional{limits} : std::nullopt;
  };
  if (study_.has_restarts()) {
    share("reset-recall", recall_, where_asked(kNearlyAlways));
    share("reset-precision", precision_, where_asked(kNearlyAlways));
  } else {
    share("reset-invented", restart_invented_, where_asked(kRarely));
  }
  share("change-found", change_found_, kNearlyAlways);
  share("change-found-within-20", change_found_early_, kNearlyAlways);
  share("change-invented", change_invented_, kNever);
  return figures;
}

Log shortened(const Log& log) {
  assert(log.truth.changes.size() == 1);
  std::int64_t end_ns = 0;
  std::ptrdiff_t after = 0;
  for (const SentReport& report : log.truth.sent) {
    if (after == kSoon) break;
    if (!report.heard_ns) continue;
    end_ns = *report.heard_ns;
    after += end_ns > log.truth.changes.front().at_ns ? 1 : 0;
  }
  Log result = log;
  std::erase_if(result.rows, [&](const Row& row) { return row.time_ns > end_ns; });
  return result;
}

}  // namespace fieldfare::truth
