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
  return entry;
}

bool FleetFold::add(const fleet::Hearing& hearing) {
  const auto receiver = static_cast<std::size_t>(hearing.receiver);
  if (!hearing.implausible) impl_->activity_of(receiver).mark(hearing.time);
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
    if (impl_->nodes[i] && impl_->nodes[i]->overtaken) {
      result.push_back(fleet::NodeIndex{static_cast<std::uint32_t>(i)});
    }
  }
  return result;
}

void FleetFold::begin_refold(fleet::NodeIndex index) {
  Impl::Node& node = impl_->node(index);
  node = Impl::Node{node.facts};
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

std::vector<ReceiverSilence> FleetFold::Impl::silences(
    std::span<internal::NodeSilences> heard) const {
  std::vector<internal::ReceiverActivity> receivers;
  for (std::size_t i = 0; i < activity.size(); ++i) {
    receivers.push_back({fleet::ReceiverIndex{static_cast<std::uint32_t>(i)}, activity[i].quiet()});
  }
  std::vector<ReceiverSilence> result = internal::explain_silences(receivers, heard);
  std::sort(result.begin(), result.end(), [&](const ReceiverSilence& a, const ReceiverSilence& b) {
    if (a.from != b.from) return a.from < b.from;
    return name_of(a.receiver) < name_of(b.receiver);
  });
  return result;
}

FleetEvidence FleetFold::finish(double confidence) const {
  FleetEvidence result;
  std::vector<std::vector<internal::Gap>> gaps;
  for (const std::size_t i : impl_->by_label()) {
    const internal::NodeFold fold = Impl::folded(*impl_->nodes[i]);
    result.nodes.push_back(impl_->evidence_of(fold, confidence));
    result.nodes.back().node = fleet::NodeIndex{static_cast<std::uint32_t>(i)};
    gaps.push_back(fold.gaps());
  }
  std::vector<internal::NodeSilences> heard;
  for (std::size_t i = 0; i < result.nodes.size(); ++i) {
    heard.push_back({&result.nodes[i], std::move(gaps[i])});
  }
  result.receiver_silences = impl_->silences(heard);
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
