// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/evidence/internal/silences.h"

#include <algorithm>
#include <cmath>
#include <optional>

namespace fieldfare::evidence::internal {
namespace {

/// Once in a million that all these nodes were merely unlucky.
constexpr double kLogChance = -6;

/// Shorter silences aren't looked for, and shorter deafness that cost nothing isn't
/// told.
constexpr Duration kLeastSilence = Duration::seconds(60);

struct Stretch {
  Instant from;
  Instant to;
};

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

/// Missing reports of a gap, from the `first` to the `last`, counted from 1: all
/// of them, or a run that known deafness left over.
struct Piece {
  Gap gap;
  std::uint64_t first;
  std::uint64_t last;

  explicit Piece(const Gap& whole) : Piece{whole, 1, whole.missed} {}
  Piece(const Gap& whole, std::uint64_t from, std::uint64_t to)
      : gap{whole}, first{from}, last{to} {}

  std::uint64_t count() const { return last + 1 - first; }
  /// Whether the report before, or after, was heard.
  bool begins() const { return first == 1; }
  bool ends() const { return last == gap.missed; }
  std::int64_t from_ns() const { return begins() ? gap.from_ns : due_ns(gap, first); }
  std::int64_t to_ns() const { return ends() ? gap.to_ns : due_ns(gap, last); }
};

bool touches(const Piece& piece, const Activity::Quiet& quiet) {
  return piece.to_ns() > quiet.from.ns && piece.from_ns() < quiet.to.ns;
}

struct Overlap {
  std::uint64_t before;  ///< missing reports of the piece before the silence
  std::uint64_t inside;
  std::uint64_t after;
};

Overlap overlap(const Piece& piece, const Stretch& silence) {
  if (piece.to_ns() <= silence.from.ns || piece.from_ns() >= silence.to.ns) {
    return {piece.count(), 0, 0};
  }
  const auto until = [&](Instant at) {
    return std::clamp(due_until(piece.gap, at.ns), piece.first - 1, piece.last);
  };
  const std::uint64_t until_from = until(silence.from);
  const std::uint64_t until_to = until(silence.to);
  return {until_from + 1 - piece.first, until_to - until_from, piece.last - until_to};
}

/// Takes the reports missed inside a silence out of the chain, which then breaks
/// there.
void relieve(LossChain& chain, const Piece& piece, const Overlap& part) {
  chain.expected -= part.inside;
  const auto internal_steps = [](std::uint64_t missed) { return missed > 0 ? missed - 1 : 0; };
  chain.bad_bad -=
      internal_steps(piece.count()) - internal_steps(part.before) - internal_steps(part.after);
  if (part.before == 0 && piece.begins()) --chain.good_bad;
  if (part.after == 0 && piece.ends()) --chain.bad_good;
}

const Link* link_to(const NodeEvidence& node, fleet::ReceiverIndex receiver) {
  for (const Link& link : node.links) {
    if (link.receiver == receiver) return &link;
  }
  return nullptr;
}

/// A node in the search: its evidence, its gaps, and what is left of them.
struct Sufferer {
  NodeEvidence& evidence;
  const std::vector<Gap>& gaps;
  std::vector<double> shares;  ///< heard, by link
  std::vector<Piece> pieces;
};

/// When, during a gap, all receivers were deaf that hear the node as a rule: of
/// those that heard it around then, the ones with at least half the best one's share.
std::vector<Stretch> deaf_during(const Sufferer& node, const Gap& gap, const KnownDeafness& deaf) {
  const std::vector<Link>& links = node.evidence.links;
  const Stretch whole{{gap.from_ns}, {gap.to_ns}};
  const auto serves = [&](const Link& link) {
    return link.first <= whole.to && link.last >= whole.from;
  };
  double best = 0;
  for (std::size_t i = 0; i < links.size(); ++i) {
    if (serves(links[i])) best = std::max(best, node.shares[i]);
  }
  std::vector<Stretch> common{whole};
  bool any = false;
  for (std::size_t i = 0; i < links.size() && !common.empty(); ++i) {
    if (!serves(links[i]) || node.shares[i] < best / 2) continue;
    any = true;
    std::vector<Stretch> next;
    for (const Stretch& at : common) {
      for (const Deafness& stretch : deaf.of(links[i].receiver, at.from, at.to)) {
        next.push_back({std::max(at.from, stretch.from), std::min(at.to, stretch.to)});
      }
    }
    common = std::move(next);
  }
  return any ? common : std::vector<Stretch>{};
}

/// Takes what was missed in known deafness out of the node's chain; what is left of
/// its gaps goes into `pieces`.
void relieve_of_deafness(Sufferer& node, const KnownDeafness& deaf) {
  for (const Gap& gap : node.gaps) {
    Piece rest{gap};
    if (!deaf.empty() && node.evidence.chain) {
      for (const Stretch& stretch : deaf_during(node, gap, deaf)) {
        const Overlap part = overlap(rest, stretch);
        if (part.inside == 0) continue;
        relieve(*node.evidence.chain, rest, part);
        if (part.before > 0)
          node.pieces.emplace_back(gap, rest.first, rest.first + part.before - 1);
        rest.first += part.before + part.inside;
        if (part.after == 0) break;
      }
    }
    if (rest.first <= rest.last) node.pieces.push_back(rest);
  }
}

/// Whether the counter went on meanwhile. A node that slept as well was not due.
bool missed_any(const Sufferer& node, const Activity::Quiet& quiet) {
  return std::any_of(node.pieces.begin(), node.pieces.end(),
                     [&](const Piece& piece) { return touches(piece, quiet); });
}

/// The mean loss run apart from the stretch in question: were that counted, one
/// long silence would make itself look ordinary.
double mean_loss_run(const Sufferer& node, const Activity::Quiet& quiet) {
  if (!node.evidence.chain) return 1;
  const LossChain& chain = *node.evidence.chain;
  std::uint64_t runs = chain.bad_good;
  std::uint64_t lost = chain.bad_good + chain.bad_bad;
  for (const Piece& piece : node.pieces) {
    if (!touches(piece, quiet)) continue;
    const auto ended = std::uint64_t{piece.ends()};
    runs -= ended;
    lost -= piece.count() - 1 + ended;
  }
  return runs == 0 ? 1 : static_cast<double>(lost) / static_cast<double>(runs);
}

/// log10 of the chance that a receiver misses a node for the whole stretch by
/// the node's ordinary losses; nothing where the node wasn't due.
std::optional<double> log_chance(const Sufferer& sufferer, const Link& link,
                                 const Activity::Quiet& quiet, const KnownDeafness& deaf) {
  const NodeEvidence& node = sufferer.evidence;
  if (node.links.size() == 1 && !missed_any(sufferer, quiet)) return std::nullopt;
  const bool serving = link.first <= quiet.from + Duration::seconds(1) && link.last >= quiet.to;
  if (!serving || !node.cadence || node.cadence->interval_s <= 0) return std::nullopt;
  const double interval_s = node.cadence->interval_s;
  const double due = (quiet.to - quiet.from).in_seconds() / interval_s;
  if (due < 1.5) return std::nullopt;
  const double quiet_s = (quiet.to - quiet.from).in_seconds() +
                         deaf.within(link.receiver, link.first, link.last).in_seconds();
  const double sent = (link.last - link.first).in_seconds() - quiet_s;
  const auto heard = static_cast<double>(link.reports);
  const double expected = std::max(heard, sent / interval_s + 1);
  const double missed_share = (expected - heard + 0.5) / (expected + 1);
  return (due - 1) / mean_loss_run(sufferer, quiet) * std::log10(std::min(missed_share, 1.0));
}

/// What is left of a quiet stretch without known deafness.
std::vector<Activity::Quiet> unexplained(const Activity::Quiet& quiet,
                                         fleet::ReceiverIndex receiver, const KnownDeafness& deaf) {
  const auto known = deaf.of(receiver, quiet.from, quiet.to);
  if (known.empty()) return {quiet};
  std::vector<Activity::Quiet> parts;
  Instant from = quiet.from;
  for (const Deafness& stretch : known) {
    if (stretch.from - from >= kLeastSilence) parts.push_back({from, stretch.from});
    from = stretch.to;
  }
  if (quiet.to - from >= kLeastSilence) parts.push_back({from, quiet.to});
  return parts;
}

/// The silences narrowed from seconds to the nodes' own hearing times.
void sharpen(ReceiverSilence& silence, std::span<const Sufferer> nodes) {
  constexpr std::int64_t kSecond = 1'000'000'000;
  for (const Sufferer& node : nodes) {
    if (!link_to(node.evidence, silence.receiver)) continue;
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

std::vector<ReceiverSilence> detected(std::span<const ReceiverActivity> receivers,
                                      std::span<const Sufferer> nodes, const KnownDeafness& deaf) {
  std::vector<ReceiverSilence> silences;
  const auto look_at = [&](fleet::ReceiverIndex receiver, const Activity::Quiet& quiet) {
    double chance = 0;
    std::uint32_t due = 0;
    for (const Sufferer& node : nodes) {
      const Link* link = link_to(node.evidence, receiver);
      const auto log = link ? log_chance(node, *link, quiet, deaf) : std::nullopt;
      if (!log) continue;
      chance += *log;
      ++due;
    }
    if (due < 2 || chance > kLogChance) return;
    silences.push_back(
        {.receiver = receiver, .from = quiet.from, .to = quiet.to, .missed = 0, .nodes = due});
  };
  for (const ReceiverActivity& activity : receivers) {
    for (const Activity::Quiet& quiet : activity.quiet) {
      for (const Activity::Quiet& part : unexplained(quiet, activity.receiver, deaf)) {
        look_at(activity.receiver, part);
      }
    }
  }
  for (ReceiverSilence& silence : silences) sharpen(silence, nodes);
  return silences;
}

/// A report missed while two receivers were silent is told with both, but taken
/// out of its node's chain once: each piece of a gap goes with the silence that
/// covers most of it.
void charge(std::span<ReceiverSilence> silences, Sufferer& node) {
  for (const Piece& piece : node.pieces) {
    Overlap most{piece.count(), 0, 0};
    for (ReceiverSilence& silence : silences) {
      if (!link_to(node.evidence, silence.receiver)) continue;
      const Overlap part = overlap(piece, {silence.from, silence.to});
      silence.missed += part.inside;
      if (part.inside > most.inside) most = part;
    }
    if (most.inside > 0 && node.evidence.chain) relieve(*node.evidence.chain, piece, most);
  }
}

/// Known deafness, as it is told.
std::vector<ReceiverSilence> known(std::span<const Sufferer> nodes, const KnownDeafness& deaf) {
  const auto all = deaf.all();
  std::vector<ReceiverSilence> silences;
  for (const Deafness& stretch : all) {
    silences.push_back({.receiver = stretch.receiver,
                        .from = stretch.from,
                        .to = stretch.to,
                        .missed = 0,
                        .nodes = 0,
                        .listening = false});
  }
  const auto silence_of = [&](const Deafness& stretch) -> ReceiverSilence& {
    return silences[static_cast<std::size_t>(&stretch - all.data())];
  };
  for (const Sufferer& node : nodes) {
    for (const Link& link : node.evidence.links) {
      for (const Deafness& stretch : deaf.of(link.receiver, link.first, link.last)) {
        ++silence_of(stretch).nodes;
      }
      for (const Gap& gap : node.gaps) {
        for (const Deafness& stretch : deaf.of(link.receiver, {gap.from_ns}, {gap.to_ns})) {
          silence_of(stretch).missed += overlap(Piece{gap}, {stretch.from, stretch.to}).inside;
        }
      }
    }
  }
  std::erase_if(silences, [](const ReceiverSilence& silence) {
    return silence.missed == 0 && silence.to - silence.from < kLeastSilence;
  });
  return silences;
}

}  // namespace

double share_heard(const NodeEvidence& node, const Link& link, const KnownDeafness& deaf) {
  double interval_s = 1;
  if (node.cadence && node.cadence->interval_s > 0) {
    interval_s = node.cadence->interval_s;
  } else if (node.heard.reports > 1 && *node.heard.last > *node.heard.first) {
    interval_s = (*node.heard.last - *node.heard.first).in_seconds() /
                 static_cast<double>(node.heard.reports - 1);
  }
  const Duration served =
      link.last - link.first - deaf.within(link.receiver, link.first, link.last);
  return static_cast<double>(link.reports) / (served.in_seconds() / interval_s + 1);
}

std::vector<ReceiverSilence> explain_silences(std::span<const ReceiverActivity> receivers,
                                              std::span<NodeSilences> nodes,
                                              const KnownDeafness& deaf) {
  std::vector<Sufferer> sufferers;
  for (const NodeSilences& node : nodes) {
    Sufferer& made = sufferers.emplace_back(Sufferer{*node.evidence, node.gaps, {}, {}});
    if (!deaf.empty()) {
      for (const Link& link : made.evidence.links) {
        made.shares.push_back(share_heard(made.evidence, link, deaf));
      }
    }
    relieve_of_deafness(made, deaf);
  }
  std::vector<ReceiverSilence> silences = detected(receivers, sufferers, deaf);
  for (Sufferer& node : sufferers) charge(silences, node);
  const std::vector<ReceiverSilence> told = known(sufferers, deaf);
  silences.insert(silences.end(), told.begin(), told.end());
  return silences;
}

}  // namespace fieldfare::evidence::internal
