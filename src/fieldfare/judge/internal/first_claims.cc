// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/judge/internal/first_claims.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <ranges>

#include "fieldfare/stats/gilbert.h"

namespace fieldfare::judge::internal {
namespace {

constexpr std::size_t kNewest = 3;

/// What the counter did, all steps together.
struct CounterTally {
  std::uint64_t numbered = 0;
  std::uint64_t ones = 0;
  std::uint64_t stills = 0;
  std::uint64_t stills_at_start = 0;
  std::uint64_t restarts = 0;  ///< that nobody provoked
  std::uint64_t jumps = 0;
  std::uint64_t missed = 0;
  std::uint64_t skips = 0;
  std::string missed_names;  ///< the first few
};

constexpr std::uint64_t kMostNamed = 6;

void note_missed(CounterTally& tally, std::uint64_t before, std::int64_t by) {
  ++tally.skips;
  for (std::int64_t i = 1; i < by; ++i) {
    if (++tally.missed > kMostNamed) continue;
    if (!tally.missed_names.empty()) tally.missed_names += ", ";
    // Past the counter's turn the name would be wrong; how many is right all the same.
    tally.missed_names += fmt::format("{}", before + static_cast<std::uint64_t>(i));
  }
}

void take_step(CounterTally& tally, const SeenNode& seen, std::size_t i) {
  const CounterStep& step = seen.beat.steps[i];
  switch (step.kind) {
    case StepKind::first:
    case StepKind::unnumbered:
      return;
    case StepKind::one:
      ++tally.ones;
      return;
    case StepKind::skipped:
      note_missed(tally, *seen.node.reports[i - 1].sequence, step.by);
      return;
    case StepKind::still:
      if (seen.is_provoked[i]) return;
      ++(step.at_start ? tally.stills_at_start : tally.stills);
      return;
    case StepKind::restart:
      if (!seen.is_provoked[i]) ++tally.restarts;
      return;
    case StepKind::jump:
      ++tally.jumps;
      return;
  }
}

CounterTally tally_of(const SeenNode& seen) {
  CounterTally tally;
  for (std::size_t i = 0; i < seen.node.reports.size(); ++i) {
    if (seen.node.reports[i].sequence) ++tally.numbered;
    take_step(tally, seen, i);
  }
  return tally;
}

Finding finding(Claim claim, Outcome outcome, std::string why) {
  return {{claim, outcome, std::move(why), std::nullopt}, {}, {}};
}

/// What is wrong with a counter, where something is.
std::optional<Finding> counter_fault(const CounterTally& tally, std::uint64_t newest) {
  // Common practice: what happens three times was no accident.
  constexpr std::uint64_t kOften = 3;
  const std::uint64_t stills = tally.stills + tally.stills_at_start;
  if (tally.ones == 0 && tally.skips == 0 && (tally.stills >= 2 || stills >= kOften)) {
    Finding fault = finding(Claim::counter, Outcome::failed,
                            fmt::format("its counter stands still at {}", newest));
    fault.headline = "counter stands still";
    fault.next = "check where the sheet says that the counter is; else the node is at fault";
    return fault;
  }
  if (tally.restarts >= kOften) {
    Finding fault =
        finding(Claim::counter, Outcome::failed,
                fmt::format("it restarted {} times though nobody provoked it", tally.restarts));
    fault.headline = "restarts by itself";
    fault.next = "check its cells and their contacts: a spent cell gives way each time it sends";
    return fault;
  }
  if (tally.jumps >= kOften && tally.jumps > tally.ones) {
    Finding fault = finding(Claim::counter, Outcome::failed,
                            fmt::format("its counter jumped {} times, and went on by one {} times",
                                        tally.jumps, tally.ones));
    fault.headline = "counter jumps";
    fault.next =
        "check where the sheet says that the counter is, and whether two nodes have this address";
    return fault;
  }
  return std::nullopt;
}

std::string missed_text(const CounterTally& tally) {
  if (tally.missed == 0) return {};
  return fmt::format("; {} missed: {}{}", tally.missed, tally.missed_names,
                     tally.missed > kMostNamed ? ", ..." : "");
}

}  // namespace

std::string counted(std::uint64_t number, const char* one, const char* several) {
  return number == 1 ? fmt::format("one {}", one) : fmt::format("{} {}", number, several);
}

std::optional<Finding> judge_counter(const SeenNode& seen) {
  const CounterTally tally = tally_of(seen);
  if (tally.numbered == 0) return std::nullopt;
  const auto newest =
      std::find_if(seen.node.reports.rbegin(), seen.node.reports.rend(),
                   [](const FirstReport& report) { return report.sequence.has_value(); });
  if (auto fault = counter_fault(tally, *newest->sequence)) return fault;
  if (tally.ones > 0 && tally.ones >= tally.jumps) {
    std::string why = fmt::format("its counter went on by one {}{}",
                                  counted(tally.ones, "time", "times"), missed_text(tally));
    if (tally.restarts > 0) {
      why += fmt::format("; it restarted {} though nobody said so",
                         counted(tally.restarts, "time", "times"));
    }
    return finding(Claim::counter, Outcome::met, std::move(why));
  }
  Finding open = finding(
      Claim::counter, Outcome::open,
      tally.skips > 0 ? fmt::format("its counter never went on by one{}", missed_text(tally))
                      : fmt::format("its counter stood at {}; one more beat shows whether it "
                                    "goes on by one",
                                    *newest->sequence));
  open.headline = "wait";
  open.next = tally.skips > 0 ? "wait for two more reports; if it skips again, every other one is "
                                "lost, or it counts in larger steps"
                              : "wait for its next report, and don't provoke it meanwhile";
  std::optional<double> seconds;
  if (seen.beat.interval) seconds = seen.beat.interval->in_seconds();
  open.verdict.needs = Needs{1, seconds};
  return open;
}

namespace {

/// Overload where the receiver's maximum input isn't known: common practice for
/// low-power receivers, most of which take more and some of which don't.
constexpr double kUsualOverloadDbm = -20;
/// Below the known maximum, levels are kept by that much: levels told are some dB off.
constexpr double kOverloadReserveDb = 3;
/// Weaker than that on the same desk, an antenna is missing or broken (common practice).
constexpr double kDeskDbm = -90;

std::optional<double> newest_level(const FirstNode& node) {
  std::vector<double> levels;
  for (auto report = node.reports.rbegin();
       report != node.reports.rend() && levels.size() < kNewest; ++report) {
    if (report->rssi_dbm && std::isfinite(*report->rssi_dbm)) levels.push_back(*report->rssi_dbm);
  }
  if (levels.empty()) return std::nullopt;
  const auto middle = levels.begin() + static_cast<std::ptrdiff_t>(levels.size() / 2);
  std::nth_element(levels.begin(), middle, levels.end());
  return *middle;
}

Finding too_close(double level, const SeenNode& seen) {
  std::string why =
      seen.node.terms.overload_dbm
          ? fmt::format(
                "{:.0f} dBm is too strong: the receiver takes {:.0f} dBm, and {:.0f} dB "
                "below that are wanted",
                level, *seen.node.terms.overload_dbm, kOverloadReserveDb)
          : fmt::format(
                "{:.0f} dBm is too strong: over {:.0f} dBm low-power receivers begin to "
                "overload (common practice; the sheet doesn't say)",
                level, kUsualOverloadDbm);
  const std::uint64_t missed = tally_of(seen).missed;
  if (missed > 0) {
    why += fmt::format("; {} been lost at that", counted(missed, "report has", "reports have"));
  }
  Finding fault = finding(Claim::margin, Outcome::failed, std::move(why));
  fault.headline = "too close";
  fault.next =
      "move it 3 m away or turn down its power, and provoke it again; leave its antenna on";
  return fault;
}

Finding too_weak(std::string why) {
  Finding fault = finding(Claim::margin, Outcome::failed, std::move(why));
  fault.headline = "too weak";
  fault.next =
      "check that both antennas are screwed on and meant for this band, with the node switched "
      "off, "
      "and that nothing metal lies between";
  return fault;
}

}  // namespace

std::optional<Finding> judge_margin(const SeenNode& seen, const ProofTerms& proof) {
  const auto level = newest_level(seen.node);
  if (!level) return std::nullopt;
  const FirstTerms& terms = seen.node.terms;
  const double most =
      terms.overload_dbm ? *terms.overload_dbm - kOverloadReserveDb : kUsualOverloadDbm;
  if (*level > most) return too_close(*level, seen);
  if (terms.sensitivity_dbm && *level < *terms.sensitivity_dbm + proof.margin_db) {
    return too_weak(fmt::format(
        "{:.0f} dBm is {:.0f} dB above the receiver's sensitivity of {:.0f} dBm; wanted {:.4g} dB",
        *level, *level - *terms.sensitivity_dbm, *terms.sensitivity_dbm, proof.margin_db));
  }
  if (*level < kDeskDbm && !terms.sensitivity_dbm) {
    return too_weak(fmt::format(
        "{:.0f} dBm is too weak for a desk, where {:.0f} dBm or more are usual (common practice)",
        *level, kDeskDbm));
  }
  if (*level < kDeskDbm) {
    Finding open = too_weak(
        fmt::format("{:.0f} dBm would do, but is little for a desk: usual are {:.0f} dBm or more "
                    "(common practice)",
                    *level, kDeskDbm));
    open.verdict.outcome = Outcome::open;
    open.headline = "weak for a desk";
    return open;
  }
  return finding(Claim::margin, Outcome::met,
                 fmt::format("{:.0f} dBm is neither too weak nor too strong", *level));
}

std::optional<std::uint64_t> network_of(const FirstNode& node) {
  // Whole numbers of at most 64 bits; beyond 2^53 doubles have no odd ones.
  constexpr double kMost = 9'007'199'254'740'992;
  for (const FirstReport& report : std::views::reverse(node.reports)) {
    for (const NamedValue& reading : report.readings) {
      if (reading.name != kNetworkReading) continue;
      if (reading.value >= 0 && reading.value <= kMost) {
        return static_cast<std::uint64_t>(reading.value);
      }
    }
  }
  return std::nullopt;
}

std::optional<Finding> judge_settings(const FirstNode& node, std::optional<std::uint64_t> wanted) {
  const auto network = network_of(node);
  if (!network || !wanted) return std::nullopt;
  if (*network == *wanted) {
    return finding(Claim::settings, Outcome::met,
                   fmt::format("it reports from network {:04X}, as wanted", *network));
  }
  Finding fault = finding(
      Claim::settings, Outcome::failed,
      fmt::format("it reports from network {:04X}, the others are in {:04X}: this network's "
                  "receivers will not hear it",
                  *network, *wanted));
  fault.headline = "other network";
  fault.next =
      fmt::format("set its network to {:04X} and restart it; or it is a neighbour's", *wanted);
  return fault;
}

namespace {

struct LossCount {
  stats::ChainCounts chain;
  std::uint64_t heard = 0;
  std::uint64_t expected = 0;
};

LossCount losses_of(const SeenNode& seen) {
  LossCount losses;
  for (std::size_t i = 0; i < seen.node.reports.size(); ++i) {
    if (!seen.node.reports[i].sequence) continue;
    ++losses.heard;
    ++losses.expected;
    const CounterStep& step = seen.beat.steps[i];
    if (step.kind == StepKind::one) ++losses.chain.good_good;
    if (step.kind != StepKind::skipped) continue;
    const auto missed = static_cast<std::uint64_t>(step.by - 1);
    losses.expected += missed;
    ++losses.chain.good_bad;
    ++losses.chain.bad_good;
    losses.chain.bad_bad += missed - 1;
  }
  return losses;
}

stats::ChainTest test_of(const stats::ChainCounts& chain, const ProofTerms& proof) {
  // One loss in the counts is taken beside a node's own: a desk has no long runs, and
  // one that was seen must not make the test think that all are as long.
  const auto runs = static_cast<double>(chain.bad_good);
  const double lost = runs + static_cast<double>(chain.bad_bad);
  return stats::test_chain(chain, {.good_share = proof.delivery_good,
                                   .bad_share = proof.delivery_bad,
                                   .mean_loss_run = (lost + 1) / (runs + 1),
                                   .alpha = proof.alpha,
                                   .beta = proof.beta});
}

/// Further reports until the test is passed if every one is heard. Each takes the same
/// from the log ratio.
std::uint64_t still_needed(const stats::ChainCounts& chain, const ProofTerms& proof) {
  constexpr double kMost = 1e6;
  const stats::ChainTest now = test_of(chain, proof);
  stats::ChainCounts next = chain;
  ++next.good_good;
  const double each = now.log_ratio - test_of(next, proof).log_ratio;
  const double reports = std::ceil((now.log_ratio - now.accept_good) / each);
  if (!(reports > 0)) return 0;
  return static_cast<std::uint64_t>(std::min(reports, kMost));
}

std::string waiting_text(double seconds) {
  const double minutes = seconds / 60;
  if (seconds < 90) return fmt::format("{:.0f} s", seconds);
  if (minutes < 120) return fmt::format("{:.0f} min", minutes);
  if (minutes < 72 * 60) return fmt::format("{:.0f} h", minutes / 60);
  return fmt::format("{:.0f} days", minutes / 60 / 24);
}

/// The moment of the n-th beat from now on; beats that passed in silence are lost.
std::optional<Instant> beat_from_now(const SeenNode& seen, std::uint64_t reports, Instant now) {
  const Instant newest = seen.node.reports.back().at;
  const std::int64_t interval = seen.beat.interval->ns;
  const std::int64_t passed = std::max<std::int64_t>(0, (now - newest).ns / interval);
  constexpr double kLongestNs = 1e18;  // thirty years
  const double ahead =
      (static_cast<double>(passed) + static_cast<double>(reports)) * static_cast<double>(interval);
  if (ahead > kLongestNs) return std::nullopt;
  return newest + Duration{static_cast<std::int64_t>(ahead)};
}

}  // namespace

std::optional<DeliveryFinding> judge_delivery(const SeenNode& seen, const ProofTerms& proof,
                                              Instant now) {
  const LossCount losses = losses_of(seen);
  if (losses.heard == 0) return std::nullopt;
  const std::string heard =
      fmt::format("{} of {} heard", losses.heard, counted(losses.expected, "report", "reports"));
  const std::uint64_t reports = still_needed(losses.chain, proof);
  DeliveryFinding result{{Claim::delivery, Outcome::open, heard, std::nullopt}, std::nullopt};
  if (reports == 0) {
    result.verdict.outcome = Outcome::met;
    return result;
  }
  const std::string more = counted(reports, "more report", "more reports");
  if (!seen.beat.interval) {
    result.verdict.needs = Needs{reports, std::nullopt};
    result.verdict.why = fmt::format(
        "{}; it takes {} without a loss, and two more beats tell the interval", heard, more);
    return result;
  }
  const double seconds = static_cast<double>(reports) * seen.beat.interval->in_seconds();
  result.verdict.needs = Needs{reports, seconds};
  result.verdict.why =
      fmt::format("{}; it takes {} without a loss, {}", heard, more, waiting_text(seconds));
  result.at = beat_from_now(seen, reports, now);
  return result;
}

}  // namespace fieldfare::judge::internal
