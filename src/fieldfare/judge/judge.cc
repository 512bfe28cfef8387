// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/judge/judge.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include "fieldfare/judge/internal/claims.h"
#include "fieldfare/stats/censored_mean.h"
#include "fieldfare/stats/gilbert.h"

namespace fieldfare::judge {
namespace {

stats::ChainCounts counts_of(const evidence::LossChain& chain) {
  return {chain.good_good, chain.good_bad, chain.bad_good, chain.bad_bad};
}

std::optional<Delivery> delivery_of(const evidence::NodeEvidence& node, double confidence) {
  if (!node.chain || node.chain->expected < 2) return std::nullopt;
  const evidence::LossChain& chain = *node.chain;
  const auto interval = stats::good_share_interval(counts_of(chain), confidence);
  const double ratio = static_cast<double>(chain.heard) / static_cast<double>(chain.expected);
  Delivery delivery{.heard = chain.heard,
                    .expected = chain.expected,
                    .ratio = ratio,
                    // Few loss runs pull the posterior away from the share that was
                    // heard; an interval that leaves its own share out helps nobody.
                    .low = std::min(interval.low, ratio),
                    .high = std::max(interval.high, ratio),
                    .confidence = confidence,
                    .mean_loss_run = std::nullopt,
                    .mean_good_run = std::nullopt};
  if (chain.bad_good > 0) {
    delivery.mean_loss_run =
        static_cast<double>(chain.bad_good + chain.bad_bad) / static_cast<double>(chain.bad_good);
  }
  if (chain.good_bad > 0) {
    delivery.mean_good_run =
        static_cast<double>(chain.good_bad + chain.good_good) / static_cast<double>(chain.good_bad);
  }
  return delivery;
}

std::optional<Margin> margin_of(const evidence::NodeEvidence& node, const NodeTerms& terms) {
  if (!node.signal) return std::nullopt;
  const evidence::Signal& signal = *node.signal;
  Margin margin{.rssi_mean_dbm = signal.mean_dbm,
                .rssi_sd_db = signal.sd_db,
                .corrected_mean_dbm = std::nullopt,
                .margin_db = std::nullopt};
  if (!terms.sensitivity_dbm) return margin;
  double mean = signal.mean_dbm;
  if (node.chain && signal.reports >= 2 && signal.sd_db > 0) {
    const auto fit = stats::fit_censored(
        {.measured = signal.reports,
         .mean = signal.mean_dbm,
         .sd = signal.sd_db,
         .missed = node.chain->expected - std::min(node.chain->expected, signal.reports),
         .threshold = *terms.sensitivity_dbm});
    margin.corrected_mean_dbm = fit.mean;
    mean = fit.mean;
  }
  margin.margin_db = mean - *terms.sensitivity_dbm;
  return margin;
}

/// The mean loss run over all nodes together: what a node with few losses of its
/// own is taken to have.
double pooled_loss_run(const evidence::FleetEvidence& fleet) {
  double lost = 0;
  double runs = 0;
  for (const evidence::NodeEvidence& node : fleet.nodes) {
    if (!node.chain) continue;
    lost += static_cast<double>(node.chain->bad_good + node.chain->bad_bad);
    runs += static_cast<double>(node.chain->bad_good);
  }
  return runs > 0 ? lost / runs : 1;
}

/// When each receiver heard anything last.
std::map<fleet::ReceiverIndex, Instant> last_heard_by(const evidence::FleetEvidence& fleet) {
  std::map<fleet::ReceiverIndex, Instant> last;
  for (const evidence::NodeEvidence& node : fleet.nodes) {
    for (const evidence::Link& link : node.links) {
      Instant& at = last.try_emplace(link.receiver, link.last).first->second;
      at = std::max(at, link.last);
    }
  }
  return last;
}

/// The chance, from its own losses, that a node which was just heard is missed
/// `beats` times in a row.
double chance_of_missing(const evidence::LossChain& chain, std::uint64_t beats) {
  const auto rate = [](std::uint64_t taken, std::uint64_t not_taken) {
    return (static_cast<double>(taken) + 0.5) /
           (static_cast<double>(taken) + static_cast<double>(not_taken) + 1);
  };
  return rate(chain.good_bad, chain.good_good) *
         std::pow(rate(chain.bad_bad, chain.bad_good), static_cast<double>(beats - 1));
}

std::optional<Quiet> quiet_of(const evidence::NodeEvidence& node,
                              const std::map<fleet::ReceiverIndex, Instant>& last_heard,
                              const evidence::KnownDeafness& deaf) {
  if (!node.cadence || !node.chain || node.links.empty() || !node.heard.last) return std::nullopt;
  const Instant since = *node.heard.last;
  Duration listened{};
  for (const evidence::Link& link : node.links) {
    const Instant to = last_heard.at(link.receiver);
    if (!link.usual || to <= since) continue;
    listened = std::max(listened, to - since - deaf.within(link.receiver, since, to));
  }
  const double interval_s = node.cadence->interval_s;
  if (interval_s <= 0) return std::nullopt;
  // The last beat may still be on its way.
  const double beats = listened.in_seconds() / interval_s - 0.5;
  constexpr double kFewest = 3;
  constexpr double kUnlikely = 1e-3;
  if (beats < kFewest) return std::nullopt;
  const auto due = static_cast<std::uint64_t>(beats);
  if (chance_of_missing(*node.chain, due) >= kUnlikely) return std::nullopt;
  return Quiet{since, due};
}

}  // namespace

Outcome NodeVerdict::worst() const {
  Outcome worst = quiet ? Outcome::open : Outcome::met;
  for (const Verdict& verdict : verdicts) worst = std::max(worst, verdict.outcome);
  return worst;
}

FleetVerdict judge(evidence::FleetEvidence fleet, const TermsOf& terms_of,
                   const JudgeOptions& options) {
  FleetVerdict result;
  const double pooled_run = pooled_loss_run(fleet);
  const auto last_heard = last_heard_by(fleet);
  result.receiver_silences = std::move(fleet.receiver_silences);
  for (evidence::NodeEvidence& node : fleet.nodes) {
    const NodeTerms terms = terms_of(node.node);
    if (node.doubtful_origin && !terms.listed) {
      result.not_enrolled.push_back(std::move(node));
      continue;
    }
    NodeVerdict verdict;
    verdict.listed = terms.listed;
    verdict.delivery = delivery_of(node, options.confidence);
    verdict.margin = margin_of(node, terms);
    verdict.quiet = quiet_of(node, last_heard, fleet.deaf);
    verdict.evidence = std::move(node);
    if (terms.listed || !options.with_site) {
      internal::judge_claims(verdict, terms, {options, pooled_run});
    }
    result.nodes.push_back(std::move(verdict));
  }
  return result;
}

}  // namespace fieldfare::judge
