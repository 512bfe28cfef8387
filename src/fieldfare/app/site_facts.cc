// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/site_facts.h"

#include <algorithm>
#include <cassert>

namespace fieldfare::app {
namespace {

/// Wider counters never come round in the life of a node; the fold reckons with
/// 32 bits at most.
constexpr int kWidestCounter = 32;

/// The poorest of the receivers whose sheets say it: a claim that holds there
/// holds anywhere. The node's own sheet where none says it.
std::optional<double> sensitivity_of(const fleet::Site& site, const fleet::NodeSheet* node) {
  std::optional<double> poorest;
  for (const fleet::Receiver& receiver : site.receivers) {
    const fleet::ReceiverSheet* sheet = sheet_of(site, receiver);
    if (!sheet || !sheet->radio.sensitivity_dbm) continue;
    poorest =
        std::max(poorest.value_or(*sheet->radio.sensitivity_dbm), *sheet->radio.sensitivity_dbm);
  }
  if (!poorest && node) return node->radio.sensitivity_dbm;
  return poorest;
}

std::optional<double> overload_of(const fleet::Site& site, const fleet::NodeSheet* node) {
  std::optional<double> lowest;
  for (const fleet::Receiver& receiver : site.receivers) {
    const fleet::ReceiverSheet* sheet = sheet_of(site, receiver);
    if (!sheet || !sheet->radio.overload_dbm) continue;
    lowest = std::min(lowest.value_or(*sheet->radio.overload_dbm), *sheet->radio.overload_dbm);
  }
  if (!lowest && node) return node->radio.overload_dbm;
  return lowest;
}

}  // namespace

void SiteFacts::enter_roster(fleet::Labels& labels) const {
  if (!site_) return;
  for (const fleet::Node& node : site_->nodes) {
    // Names and addresses of a loaded site are unique.
    [[maybe_unused]] const auto index = labels.list_node(node.name, node.address);
    assert(index);
  }
}

const fleet::Node* SiteFacts::listed(fleet::NodeIndex node) const {
  const auto at = static_cast<std::size_t>(node);
  return site_ && at < site_->nodes.size() ? &site_->nodes[at] : nullptr;
}

const fleet::NodeSheet* SiteFacts::sheet(fleet::NodeIndex node) const {
  const fleet::Node* entry = listed(node);
  return entry ? sheet_of(*site_, *entry) : nullptr;
}

evidence::NodeFacts SiteFacts::facts(fleet::NodeIndex node, const fleet::NodeLabel& label) const {
  evidence::NodeFacts facts = known(node);
  if (!facts.sequence_bits) facts.sequence_bits = label.sequence_bits;
  return facts;
}

evidence::NodeFacts SiteFacts::known(fleet::NodeIndex node) const {
  evidence::NodeFacts facts{.sequence_bits = spoken_.sequence_bits, .interval = spoken_.interval};
  const fleet::Node* entry = listed(node);
  if (entry && entry->card.interval) facts.interval = entry->card.interval;
  const fleet::NodeSheet* kind = sheet(node);
  if (kind) {
    const std::vector<fleet::ReportKind>& kinds = kind->reporting.kinds;
    facts.event_driven =
        std::find(kinds.begin(), kinds.end(), fleet::ReportKind::on_change) != kinds.end();
  }
  if (kind && kind->sequence.bits) {
    facts.sequence_bits = static_cast<std::uint8_t>(std::min(*kind->sequence.bits, kWidestCounter));
  }
  return facts;
}

judge::NodeTerms SiteFacts::terms(fleet::NodeIndex node) const {
  judge::NodeTerms terms;
  const evidence::NodeFacts told = known(node);
  if (!told.event_driven) terms.interval = told.interval;
  const fleet::Node* entry = listed(node);
  if (!entry) return terms;
  terms.listed = true;
  const fleet::NodeSheet* kind = sheet(node);
  if (kind && kind->clock.tolerance_ppm) terms.clock_tolerance = *kind->clock.tolerance_ppm * 1e-6;
  terms.sensitivity_dbm = sensitivity_of(*site_, kind);
  terms.overload_dbm = overload_of(*site_, kind);
  return terms;
}

wire::CaptureSieve SiteFacts::sieve(bool keep_foreign) const {
  wire::CaptureSieve sieve;
  sieve.keep_foreign = keep_foreign;
  if (!site_) return sieve;
  sieve.pan_id = site_->pan_id;
  sieve.roster_only = !site_->nodes.empty();
  return sieve;
}

judge::ProofTerms SiteFacts::proof() const {
  if (!site_) return {};
  const fleet::Proof& proof = site_->proof;
  return {proof.delivery_good, proof.delivery_bad, proof.alpha, proof.beta, proof.margin_db};
}

}  // namespace fieldfare::app
