// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/evidence/internal/silences.h"

#include <algorithm>
#include <cmath>

namespace fieldfare::evidence::internal {
namespace {

/// Once in a million that all these nodes were merely unlucky.
constexpr double kLogChance = -6;

bool touches(const Gap& gap, const Activity::Quiet& quiet) {
  return gap.to_ns > quiet.from.ns && gap.from_ns < quiet.to.ns;
}

/// Whether the counter went on meanwhile. A node that slept as well was not due.
bool missed_any(std::span<const Gap> gaps, const Activity::Quiet& quiet) {
  return std::any_of(gaps.begin(), gaps.end(), [&](const Gap& gap) { return touches(gap, quiet); });
}

/// The mean loss run apart from the stretch in question: were that counted, one
/// long silence would make itself look ordinary.
double mean_loss_run(const NodeSilences& silences, const Activity::Quiet& quiet) {
  const NodeEvidence& node = *silences.evidence;
  if (!node.chain) return 1;
  std::uint64_t runs = node.chain->bad_good;
  std::uint64_t lost = node.chain->bad_good + node.chain->bad_bad;
  for (const Gap& gap : silences.gaps) {
    if (!touches(gap, quiet)) continue;
    --runs;
    lost -= gap.missed;
  }
  return runs == 0 ? 1 : static_cast<double>(lost) / static_cast<double>(runs);
}

/// log10 of the chance that a receiver misses a node for the whole stretch by
/// the node's ordinary losses; nothing where the node wasn't due.
std::optional<double> log_chance(const NodeSilences& silences, const Link& link,
                                 const Activity::Quiet& quiet) {
  const NodeEvidence& node = *silences.evidence;
  if (node.links.size() == 1 && !missed_any(silences.gaps, quiet)) return std::nullopt;
  const bool serving = link.first <= quiet.from + Duration::seconds(1) && link.last >= quiet.to;
  if (!serving || !node.cadence || node.cadence->interval_s <= 0) return std::nullopt;
  const double interval_s = node.cadence->interval_s;
  const double due = (quiet.to - quiet.from).in_seconds() / interval_s;
  if (due < 1.5) return std::nullopt;
  const double quiet_s = (quiet.to - quiet.from).in_seconds();
  const double sent = (link.last - link.first).in_seconds() - quiet_s;
  const auto heard = static_cast<double>(link.reports);
  const double expected = std::max(heard, sent / interval_s + 1);
  const double missed_share = (expected - heard + 0.5) / (expected + 1);
  return (due - 1) / mean_loss_run(silences, quiet) * std::log10(std::min(missed_share, 1.0));
}

const Link* link_to(const NodeEvidence& node, fleet::ReceiverIndex receiver) {
  for (const Link& link : node.links) {
    if (link.receiver == receiver) return &link;
  }
  return nullptr;
}

/// The moment at which the i-th of a gap's missing reports was due.
std::int64_t due_ns(const Gap& gap, std::uint64_t i) {
  const double share = static_cast<double>(i) / static_cast<double>(gap.missed + 1);
  return gap.from_ns +
         static_cast<std::int64_t>(share * static_cast<double>(gap.to_ns - gap.from_ns));
}

/// How many of the gap's missing reports were due at or before `at`.
std::uint64_t due_until(const Gap& gap, std::int64_t at_ns) {
  std::uint64_t low = 0;
  std::uint64_t high = gap.missed;
  while (low < high) {
    const std::uint64_t middle = (low + high + 1) / 2;
    if (due_ns(gap, middle) <= at_ns) {
      low = middle;
    } else {
      high = middle - 1;
    }
  }
  return low;
}

struct Overlap {
  std::uint64_t before;  ///< missing reports of the gap before the silence
  std::uint64_t inside;
  std::uint64_t after;
};

Overlap overlap(const Gap& gap, const ReceiverSilence& silence) {
  if (gap.to_ns <= silence.from.ns || gap.from_ns >= silence.to.ns) return {gap.missed, 0, 0};
  const std::uint64_t until_from = due_until(gap, silence.from.ns);
  const std::uint64_t until_to = due_until(gap, silence.to.ns);
  return {until_from, until_to - until_from, gap.missed - until_to};
}

/// Takes the reports missed inside a silence out of the chain, which then breaks
/// there.
void relieve(LossChain& chain, const Overlap& part) {
  chain.expected -= part.inside;
  const auto internal_steps = [](std::uint64_t missed) { return missed > 0 ? missed - 1 : 0; };
  const std::uint64_t total = part.before + part.inside + part.after;
  chain.bad_bad -= internal_steps(total) - internal_steps(part.before) - internal_steps(part.after);
  if (part.before == 0) --chain.good_bad;
  if (part.after == 0) --chain.bad_good;
}

/// The silences narrowed from seconds to the nodes' own hearing times.
void sharpen(ReceiverSilence& silence, std::span<const NodeSilences> nodes) {
  constexpr std::int64_t kSecond = 1'000'000'000;
  for (const NodeSilences& node : nodes) {
    if (!link_to(*node.evidence, silence.receiver)) continue;
    for (const Gap& gap : node.gaps) {
      const std::int64_t after_from = gap.from_ns - silence.from.ns;
      if (after_from > 0 && after_from < kSecond && silence.from.ns % kSecond == 0) {
        silence.from.ns = gap.from_ns;
      }
      const std::int64_t after_to = gap.to_ns - silence.to.ns;
      if (after_to > 0 && after_to < kSecond && silence.to.ns % kSecond == 0) {
        silence.to.ns = gap.to_ns;
      }
    }
  }
}

}  // namespace

std::vector<ReceiverSilence> explain_silences(std::span<const ReceiverActivity> receivers,
                                              std::span<NodeSilences> nodes) {
  std::vector<ReceiverSilence> silences;
  for (const ReceiverActivity& activity : receivers) {
    for (const Activity::Quiet& quiet : activity.quiet) {
      double chance = 0;
      std::uint32_t due = 0;
      for (const NodeSilences& node : nodes) {
        const Link* link = link_to(*node.evidence, activity.receiver);
        const auto log = link ? log_chance(node, *link, quiet) : std::nullopt;
        if (!log) continue;
        chance += *log;
        ++due;
      }
      if (due < 2 || chance > kLogChance) continue;
      silences.push_back({.receiver = activity.receiver,
                          .from = quiet.from,
                          .to = quiet.to,
                          .missed = 0,
                          .nodes = due});
    }
  }
  for (ReceiverSilence& silence : silences) sharpen(silence, nodes);

  // A report missed while two receivers were silent is told with both, but taken
  // out of its node's chain once: each gap goes with the silence that covers most
  // of it.
  for (NodeSilences& node : nodes) {
    for (const Gap& gap : node.gaps) {
      Overlap most{gap.missed, 0, 0};
      for (ReceiverSilence& silence : silences) {
        if (!link_to(*node.evidence, silence.receiver)) continue;
        const Overlap part = overlap(gap, silence);
        silence.missed += part.inside;
        if (part.inside > most.inside) most = part;
      }
      if (most.inside > 0 && node.evidence->chain) relieve(*node.evidence->chain, most);
    }
  }
  return silences;
}

}  // namespace fieldfare::evidence::internal
