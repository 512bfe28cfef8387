// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/evidence/fleet_fold.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <limits>

#include "fieldfare/evidence/internal/fleet_fold_impl.h"
#include "fieldfare/evidence/internal/silences.h"

namespace fieldfare::evidence {
namespace {

constexpr std::uint64_t kOffsetBasis = 14695981039346656037U;
constexpr std::uint64_t kPrime = 1099511628211U;

/// FNV-1a: the same in every run and on every platform.
std::uint64_t stable_hash(std::string_view text) {
  std::uint64_t hash = kOffsetBasis;
  for (const char c : text) {
    hash = (hash ^ static_cast<unsigned char>(c)) * kPrime;
  }
  return hash;
}

std::uint32_t receiver_hash(std::string_view name) {
  const std::uint64_t hash = stable_hash(name);
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

FleetFold::FleetFold(const fleet::Labels& labels, FactsOf facts)
    : impl_{std::make_unique<Impl>()} {
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
              .receiver = static_cast<std::uint16_t>(receiver)};
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
  assert(receiver <= std::numeric_limits<std::uint16_t>::max());
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

FleetEvidence FleetFold::finish(double confidence) const {
  FleetEvidence result;
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < impl_->nodes.size(); ++i) {
    if (impl_->nodes[i]) order.push_back(i);
  }
  const auto name = [&](std::size_t i) -> const std::string& {
    return impl_->labels->label(fleet::NodeIndex{static_cast<std::uint32_t>(i)}).name;
  };
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return name(a) < name(b); });

  std::vector<std::vector<internal::Gap>> gaps;
  for (const std::size_t i : order) {
    const internal::NodeFold fold = Impl::folded(*impl_->nodes[i]);
    NodeEvidence evidence = fold.evidence(confidence);
    evidence.node = fleet::NodeIndex{static_cast<std::uint32_t>(i)};
    std::sort(evidence.links.begin(), evidence.links.end(), [&](const Link& a, const Link& b) {
      return impl_->name_of(a.receiver) < impl_->name_of(b.receiver);
    });
    for (const Link& link : evidence.links) {
      if (link.rssi_count == 0) continue;
      if (evidence.signal && evidence.signal->reports >= link.rssi_count) continue;
      evidence.signal = Signal{link.receiver, link.rssi_count, link.rssi_mean_dbm,
                               link.rssi_sd_db};
    }
    gaps.push_back(fold.gaps());
    result.nodes.push_back(std::move(evidence));
  }

  std::vector<internal::NodeSilences> nodes;
  for (std::size_t i = 0; i < result.nodes.size(); ++i) {
    nodes.push_back({&result.nodes[i], std::move(gaps[i])});
  }
  std::vector<internal::ReceiverActivity> receivers;
  for (std::size_t i = 0; i < impl_->activity.size(); ++i) {
    receivers.push_back({fleet::ReceiverIndex{static_cast<std::uint32_t>(i)},
                         impl_->activity[i].quiet()});
  }
  result.receiver_silences = internal::explain_silences(receivers, nodes);
  std::sort(result.receiver_silences.begin(), result.receiver_silences.end(),
            [&](const ReceiverSilence& a, const ReceiverSilence& b) {
              if (a.from != b.from) return a.from < b.from;
              return impl_->name_of(a.receiver) < impl_->name_of(b.receiver);
            });
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
