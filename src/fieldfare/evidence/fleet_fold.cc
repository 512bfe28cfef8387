// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/evidence/fleet_fold.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

#include "fieldfare/evidence/internal/fleet_fold_impl.h"
#include "fieldfare/evidence/internal/silences.h"
#include "fieldfare/evidence/internal/stable_hash.h"

namespace fieldfare::evidence {
namespace {

std::uint32_t receiver_hash(std::string_view name) {
  const std::uint64_t hash = internal::stable_hash(name);
  return static_cast<std::uint32_t>(hash ^ (hash >> 32U));
}

}  // namespace

std::uint32_t FleetFold::Impl::hash_of(std::size_t receiver) const {
  while (hashes.size() <= receiver) {
    const fleet::ReceiverIndex next{static_cast<std::uint32_t>(hashes.size())};
    hashes.push_back(receiver_hash(labels->receiver_name(next)));
  }
  return hashes[receiver];
}

FleetFold::FleetFold(const fleet::Labels& labels, FactsOf facts) : impl_{std::make_unique<Impl>()} {
  impl_->labels = &labels;
  impl_->facts_of = std::move(facts);
}
FleetFold::~FleetFold() = default;
FleetFold::FleetFold(FleetFold&&) noexcept = default;
FleetFold& FleetFold::operator=(FleetFold&&) noexcept = default;

Entry FleetFold::entry_of(const fleet::Hearing& hearing) const {
  const auto receiver = static_cast<std::size_t>(hearing.receiver);
  Entry entry{.time_ns = hearing.time.ns,
              .receiver_hash = impl_->hash_of(receiver),
              .receiver = static_cast<std::uint32_t>(receiver)};
  if (hearing.sequence) {
    if (*hearing.sequence <= std::numeric_limits<std::uint32_t>::max()) {
      entry.sequence = static_cast<std::uint32_t>(*hearing.sequence);
      entry.has |= Entry::kSequence;
    } else {
      entry.has |= Entry::kImpossibleSequence;
    }
  }
  if (hearing.rssi_dbm) {
    const double centidbm = std::round(*hearing.rssi_dbm * 100);
    if (std::abs(centidbm) <= std::numeric_limits<std::int16_t>::max()) {
      entry.rssi_centidbm = static_cast<std::int16_t>(centidbm);
      entry.has |= Entry::kRssi;
    }
  }
  if (hearing.supply_v) {
    const double microvolts = std::round(*hearing.supply_v * 1e6);
    if (std::abs(microvolts) <= std::numeric_limits<std::int32_t>::max()) {
      entry.supply_uv = static_cast<std::int32_t>(microvolts);
      entry.has |= Entry::kSupply;
    }
  }
  if (hearing.implausible) entry.has |= Entry::kImplausible;
  if (hearing.batched) entry.has |= Entry::kBatched;
  if (hearing.provoked) entry.has |= Entry::kProvoked;
  return entry;
}

bool FleetFold::add(const fleet::Hearing& hearing) {
  const auto receiver = static_cast<std::size_t>(hearing.receiver);
  // When a batch was heard isn't known.
  if (!hearing.implausible && !hearing.batched) impl_->activity_of(receiver).mark(hearing.time);
  Impl::Node& node = impl_->node(hearing.node);
  node.touched = true;
  if (node.overtaken) return false;
  std::optional<Entry> out;
  if (!node.window.push(entry_of(hearing), out)) {
    node.overtaken = true;
    return false;
  }
  if (out) node.fold.add(*out);
  return true;
}

std::vector<fleet::NodeIndex> FleetFold::overtaken() const {
  std::vector<fleet::NodeIndex> result;
  for (std::size_t i = 0; i < impl_->nodes.size(); ++i) {
    const fleet::NodeIndex index{static_cast<std::uint32_t>(i)};
    const Impl::Node* node = impl_->nodes[i].get();
    if (node && (node->overtaken || node->facts != impl_->facts_of(index))) result.push_back(index);
  }
  return result;
}

void FleetFold::begin_refold(fleet::NodeIndex index) {
  Impl::Node& node = impl_->node(index);
  node = Impl::Node{impl_->facts_of(index)};
  node.touched = true;
}

void FleetFold::add_in_order(fleet::NodeIndex index, const Entry& entry) {
  Impl::Node& node = impl_->node(index);
  std::optional<Entry> out;
  [[maybe_unused]] const bool in_order = node.window.push(entry, out);
  assert(in_order);
  if (out) node.fold.add(*out);
}

std::vector<std::size_t> FleetFold::Impl::by_label() const {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    if (nodes[i]) order.push_back(i);
  }
  const auto name = [&](std::size_t i) -> const std::string& {
    return labels->label(fleet::NodeIndex{static_cast<std::uint32_t>(i)}).name;
  };
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return name(a) < name(b); });
  return order;
}

NodeEvidence FleetFold::Impl::evidence_of(const internal::NodeFold& fold, double confidence) const {
  NodeEvidence evidence = fold.evidence(confidence);
  std::sort(evidence.links.begin(), evidence.links.end(), [&](const Link& a, const Link& b) {
    return name_of(a.receiver) < name_of(b.receiver);
  });
  for (const Link& link : evidence.links) {
    if (link.rssi_count == 0) continue;
    if (evidence.signal && evidence.signal->reports >= link.rssi_count) continue;
    evidence.signal = Signal{link.receiver, link.rssi_count, link.rssi_mean_dbm, link.rssi_sd_db};
  }
  return evidence;
}

/// Told deafness within the time of these hearings, without what they belie: a
/// receiver that heard something then, and delivered it later, listened itself. What
/// lies between such hearings stays deaf where the most frequent of its nodes was due
/// three times.
KnownDeafness FleetFold::Impl::deafness(std::span<const Deafness> told,
                                        std::span<const NodeEvidence> heard) const {
  if (told.empty() || heard.empty()) return {};
  Instant first{INT64_MAX};
  Instant last{INT64_MIN};
  for (const NodeEvidence& node : heard) {
    for (const Link& link : node.links) {
      first = std::min(first, link.first);
      last = std::max(last, link.last);
    }
  }
  std::vector<Deafness> within;
  for (const Deafness& stretch : told) {
    within.push_back({stretch.receiver, std::max(stretch.from, first), std::min(stretch.to, last)});
  }
  const KnownDeafness known{std::move(within)};

  std::vector<double> reports_a_second(labels->receiver_count(), 0);
  for (const NodeEvidence& node : heard) {
    for (const Link& link : node.links) {
      const Duration served =
          link.last - link.first - known.within(link.receiver, link.first, link.last);
      if (link.reports < 2 || served.ns <= 0) continue;
      double& most = reports_a_second[static_cast<std::size_t>(link.receiver)];
      most = std::max(most, static_cast<double>(link.reports - 1) / served.in_seconds());
    }
  }
  constexpr double kFewest = 3;
  std::vector<Deafness> result;
  for (const Deafness& stretch : known.all()) {
    const auto receiver = static_cast<std::size_t>(stretch.receiver);
    if (receiver >= activity.size()) {
      result.push_back(stretch);
      continue;
    }
    const auto parts = activity[receiver].quiet_within(stretch.from, stretch.to);
    for (const internal::Activity::Quiet& part : parts) {
      const bool whole = part.from == stretch.from && part.to == stretch.to;
      const double due = (part.to - part.from).in_seconds() * reports_a_second[receiver];
      if (whole || due >= kFewest) result.push_back({stretch.receiver, part.from, part.to});
    }
  }
  return KnownDeafness{std::move(result)};
}

/// Which of a node's receivers hear it as a rule, of those that heard it lately or
/// would have, had they listened.
void FleetFold::Impl::tell_usual(NodeEvidence& node, const KnownDeafness& deaf) {
  if (deaf.empty() || !node.cadence || !node.heard.last) return;
  constexpr double kLately = 20;  // intervals
  const Instant last = *node.heard.last;
  double best = 0;
  for (Link& link : node.links) {
    const double silent_s =
        (last - link.last - deaf.within(link.receiver, link.last, last)).in_seconds();
    link.usual = silent_s <= kLately * node.cadence->interval_s;
    if (link.usual) best = std::max(best, internal::share_heard(node, link, deaf));
  }
  for (Link& link : node.links) {
    link.usual = link.usual && internal::share_heard(node, link, deaf) >= best / 2;
  }
}

std::vector<ReceiverSilence> FleetFold::Impl::silences(std::span<internal::NodeSilences> heard,
                                                       const KnownDeafness& deaf) const {
  std::vector<internal::ReceiverActivity> receivers;
  for (std::size_t i = 0; i < activity.size(); ++i) {
    receivers.push_back({fleet::ReceiverIndex{static_cast<std::uint32_t>(i)}, activity[i].quiet()});
  }
  std::vector<ReceiverSilence> result = internal::explain_silences(receivers, heard, deaf);
  std::sort(result.begin(), result.end(), [&](const ReceiverSilence& a, const ReceiverSilence& b) {
    if (a.from != b.from) return a.from < b.from;
    return name_of(a.receiver) < name_of(b.receiver);
  });
  return result;
}

namespace {

/// Leaves out what a counter tells only where its node has a single listener.
void forget_counter(NodeEvidence& evidence, std::vector<internal::Gap>& gaps) {
  if (!evidence.sequence) return;
  evidence.counter_shared = true;
  evidence.sequence.reset();
  evidence.chain.reset();
  gaps.clear();
}

}  // namespace

FleetEvidence FleetFold::finish(double confidence, std::span<const Deafness> deaf) const {
  FleetEvidence result;
  std::vector<std::vector<internal::Gap>> gaps;
  for (const std::size_t i : impl_->by_label()) {
    const internal::NodeFold fold = Impl::folded(*impl_->nodes[i]);
    result.nodes.push_back(impl_->evidence_of(fold, confidence));
    result.nodes.back().node = fleet::NodeIndex{static_cast<std::uint32_t>(i)};
    gaps.push_back(fold.gaps());
    if (impl_->labels->label(result.nodes.back().node).shared_counter) {
      forget_counter(result.nodes.back(), gaps.back());
    }
  }
  result.deaf = impl_->deafness(deaf, result.nodes);
  std::vector<internal::NodeSilences> heard;
  for (std::size_t i = 0; i < result.nodes.size(); ++i) {
    Impl::tell_usual(result.nodes[i], result.deaf);
    heard.push_back({&result.nodes[i], std::move(gaps[i])});
  }
  result.receiver_silences = impl_->silences(heard, result.deaf);
  return result;
}

std::vector<fleet::NodeIndex> FleetFold::touched() const {
  std::vector<fleet::NodeIndex> result;
  for (std::size_t i = 0; i < impl_->nodes.size(); ++i) {
    if (impl_->nodes[i] && impl_->nodes[i]->touched) {
      result.push_back(fleet::NodeIndex{static_cast<std::uint32_t>(i)});
    }
  }
  return result;
}

}  // namespace fieldfare::evidence
