// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/judge/internal/claims.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fieldfare/stats/gilbert.h"

namespace fieldfare::judge::internal {
namespace {

using evidence::NodeEvidence;

/// Where a sheet doesn't say how far a node's clock may be off: what timers
/// without a crystal keep to (common practice).
constexpr double kUsualClockTolerance = 0.05;

std::optional<double> seconds_for(double reports, const NodeEvidence& node) {
  if (!node.cadence || node.cadence->interval_s <= 0) return std::nullopt;
  return reports * node.cadence->interval_s;
}

Needs needs(double reports, const NodeEvidence& node) {
  const double whole = std::max(1.0, std::ceil(reports));
  return {.reports = static_cast<std::uint64_t>(whole), .seconds = seconds_for(whole, node)};
}

Verdict identity(const NodeVerdict& node) {
  const std::uint64_t reports = node.evidence.heard.reports;
  if (reports == 0) {
    return {Claim::identity, Outcome::open, "its address has not been heard", Needs{1, {}}};
  }
  return {Claim::identity, Outcome::met,
          fmt::format("{} report{} came from the address on its label", reports,
                      reports == 1 ? "" : "s"),
          std::nullopt};
}

Verdict cadence(const NodeVerdict& node, const NodeTerms& terms) {
  const double wanted_s = terms.interval->in_seconds();
  const double tolerance = terms.clock_tolerance.value_or(kUsualClockTolerance);
  const auto& heard = node.evidence.cadence;
  if (!heard || !heard->interval) {
    return {Claim::cadence, Outcome::open, "too few reports to show a beat",
            Needs{3, 3 * wanted_s}};
  }
  const double low = wanted_s * (1 - tolerance);
  const double high = wanted_s * (1 + tolerance);
  const std::string measured = fmt::format(
      "a report every {:.6g} s ({:.6g} to {:.6g}); its card says {:.6g} s, and its "
      "clock may be {:.3g} % off",
      heard->interval_s, heard->interval->low, heard->interval->high, wanted_s, tolerance * 100);
  if (heard->interval->low >= low && heard->interval->high <= high) {
    return {Claim::cadence, Outcome::met, measured, std::nullopt};
  }
  if (heard->interval->high < low || heard->interval->low > high) {
    return {Claim::cadence, Outcome::failed, measured, std::nullopt};
  }
  // The interval narrows at least with the root of the number of reports.
  const double width = heard->interval->high - heard->interval->low;
  const double room = std::max(high - low, 1e-9);
  const auto have = static_cast<double>(node.evidence.heard.reports);
  const double more = std::max(1.0, have * (width / room * width / room - 1));
  return {Claim::cadence, Outcome::open, measured, needs(std::min(more, 10 * have), node.evidence)};
}

Verdict delivery(const NodeVerdict& node, const ClaimContext& context) {
  const ProofTerms& proof = context.options.proof;
  if (!node.delivery) {
    return {Claim::delivery, Outcome::open, "too few numbered reports to count losses",
            Needs{2, seconds_for(2, node.evidence)}};
  }
  const Delivery& delivery = *node.delivery;
  const auto& chain = *node.evidence.chain;
  // A node with losses of its own is taken by their length, one with few by the
  // whole site's.
  constexpr double kOwnRuns = 10;
  const auto runs = static_cast<double>(chain.bad_good);
  const double own = delivery.mean_loss_run.value_or(1.0);
  const double loss_run =
      std::max(1.0, (runs * own + kOwnRuns * context.pooled_loss_run) / (runs + kOwnRuns));
  const auto test =
      stats::test_chain({chain.good_good, chain.good_bad, chain.bad_good, chain.bad_bad},
                        {.good_share = proof.delivery_good,
                         .bad_share = proof.delivery_bad,
                         .mean_loss_run = loss_run,
                         .alpha = proof.alpha,
                         .beta = proof.beta});
  const std::string counted = fmt::format(
      "{} of {} reports heard: {:.2f} % ({:.2f} to {:.2f}); wanted {:.4g} %, unacceptable {:.4g} %",
      delivery.heard, delivery.expected, delivery.ratio * 100, delivery.low * 100,
      delivery.high * 100, proof.delivery_good * 100, proof.delivery_bad * 100);
  if (test.log_ratio >= test.accept_bad) {
    return {Claim::delivery, Outcome::failed, counted, std::nullopt};
  }
  if (test.log_ratio <= test.accept_good) {
    return {Claim::delivery, Outcome::met, counted, std::nullopt};
  }
  const double share = test.log_ratio > 0 ? proof.delivery_bad : proof.delivery_good;
  return {Claim::delivery, Outcome::open, counted,
          needs(test.needed_good_states / share, node.evidence)};
}

Verdict margin(const NodeVerdict& node, const NodeTerms& terms, const ClaimContext& context) {
  const Margin& margin = *node.margin;
  const double wanted_db = context.options.proof.margin_db;
  const auto reports = static_cast<double>(node.evidence.signal->reports);
  const std::string measured = fmt::format(
      "{:.1f} dB above the receiver's sensitivity of {:.1f} dBm, at {:.1f} dBm on average; wanted "
      "{:.4g} dB",
      *margin.margin_db, *terms.sensitivity_dbm,
      margin.corrected_mean_dbm.value_or(margin.rssi_mean_dbm), wanted_db);
  if (terms.overload_dbm && margin.rssi_mean_dbm >= *terms.overload_dbm) {
    return {Claim::margin, Outcome::failed,
            fmt::format("at {:.1f} dBm it overloads the receiver, which takes {:.1f} dBm at most",
                        margin.rssi_mean_dbm, *terms.overload_dbm),
            std::nullopt};
  }
  constexpr double kFewest = 3;
  if (reports < kFewest) {
    return {Claim::margin, Outcome::open, measured, needs(kFewest - reports, node.evidence)};
  }
  // Two standard errors; neighbouring reports fade together, so no fewer than
  // half a decibel.
  const double error_db = std::max(0.5, 2 * margin.rssi_sd_db / std::sqrt(reports));
  if (*margin.margin_db - error_db >= wanted_db) {
    return {Claim::margin, Outcome::met, measured, std::nullopt};
  }
  if (*margin.margin_db + error_db < wanted_db) {
    return {Claim::margin, Outcome::failed, measured, std::nullopt};
  }
  return {Claim::margin, Outcome::open, measured, needs(reports, node.evidence)};
}

std::string waiting(const Needs& needs) {
  std::string reports = needs.reports == 1 ? std::string{"one more report"}
                                           : fmt::format("about {} more reports", needs.reports);
  if (!needs.seconds) return reports;
  const double minutes = *needs.seconds / 60;
  if (minutes < 120) return fmt::format("{}, {:.0f} min", reports, std::max(1.0, minutes));
  if (minutes < 72 * 60) return fmt::format("{}, {:.0f} h", reports, minutes / 60);
  return fmt::format("{}, {:.0f} days", reports, minutes / 60 / 24);
}

std::string advice_for(const Verdict& verdict, const NodeTerms& terms) {
  const bool failed = verdict.outcome == Outcome::failed;
  switch (verdict.claim) {
    case Claim::identity:
      return "restart the node to provoke a report, and check the digits on its label, its network "
             "number and its key";
    case Claim::cadence:
      return failed ? fmt::format("set its interval to {:.6g} s, or correct its card",
                                  terms.interval->in_seconds())
                    : "wait for " + waiting(*verdict.needs);
    case Claim::delivery:
      return failed
                 ? "look for what stands between it and the receiver, move it or the antenna, or "
                   "give it a second receiver"
                 : "wait for " + waiting(*verdict.needs);
    case Claim::margin:
      return failed
                 ? "move it or turn its antenna until the signal is stronger, or bring a receiver "
                   "nearer"
                 : "wait for " + waiting(*verdict.needs);
    case Claim::counter:
    case Claim::reading:
    case Claim::settings:
      break;  // of the first day, which has its own advice
  }
  return {};
}

/// What to do about the worst claim; of equals the first named.
std::optional<std::string> advice(const NodeVerdict& node, const NodeTerms& terms) {
  const Outcome worst = node.worst();
  if (worst == Outcome::met) return std::nullopt;
  if (node.quiet && worst == Outcome::open) {
    return "it fell silent: check its cells, whether it still hangs where it did, and what stands "
           "before it";
  }
  for (const Verdict& verdict : node.verdicts) {
    if (verdict.outcome == worst) return advice_for(verdict, terms);
  }
  return std::nullopt;
}

}  // namespace

void judge_claims(NodeVerdict& node, const NodeTerms& terms, const ClaimContext& context) {
  const bool heard = node.evidence.heard.reports > 0;
  if (terms.listed) node.verdicts.push_back(identity(node));
  if (terms.interval && heard) node.verdicts.push_back(cadence(node, terms));
  if (node.evidence.sequence && heard) node.verdicts.push_back(delivery(node, context));
  if (node.margin && node.margin->margin_db) {
    node.verdicts.push_back(margin(node, terms, context));
  }
  node.advice = advice(node, terms);
}

}  // namespace fieldfare::judge::internal
