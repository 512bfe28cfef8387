// SPDX-License-Identifier: Apache-2.0
#include "adapter.h"

#include <algorithm>
#include <string>

#include "fieldfare/evidence/fleet_fold.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/judge/judge.h"
#include "log_text.h"

namespace fieldfare::truth {
namespace {

constexpr double kConfidence = 0.95;

std::optional<Estimated> estimated(const std::optional<evidence::Estimate>& estimate) {
  if (!estimate) return std::nullopt;
  return Estimated{estimate->value, estimate->low, estimate->high};
}

JudgedKind kind_of(evidence::BreakKind kind) {
  switch (kind) {
    case evidence::BreakKind::reset:
      return JudgedKind::reset;
    case evidence::BreakKind::jump:
      return JudgedKind::jump;
    case evidence::BreakKind::stood_still:
      break;
  }
  return JudgedKind::stood_still;
}

fleet::Hearing hearing_of(const Row& row, fleet::Labels& labels) {
  fleet::Hearing hearing;
  hearing.time = Instant{row.time_ns};
  hearing.node = *labels.node(node_address(row.node));
  hearing.receiver = *labels.receiver("r" + std::to_string(row.receiver + 1));
  hearing.sequence = row.seq;
  hearing.rssi_dbm = row.rssi_dbm;
  return hearing;
}

/// Folds the rows in the order given; a node of which a row came too late is
/// folded again from its sorted rows, as the program does.
evidence::FleetEvidence fold(std::span<const Row> rows, const Facts& facts) {
  evidence::NodeFacts node_facts;
  node_facts.sequence_bits = static_cast<std::uint8_t>(facts.counter_bits);
  if (facts.interval_s) node_facts.interval = Duration::seconds(*facts.interval_s);

  fleet::Labels labels;
  evidence::FleetFold fold{labels, [&](fleet::NodeIndex) { return node_facts; }};
  for (const Row& row : rows) fold.add(hearing_of(row, labels));
  for (const fleet::NodeIndex node : fold.overtaken()) {
    std::vector<evidence::Entry> entries;
    for (const Row& row : rows) {
      const fleet::Hearing hearing = hearing_of(row, labels);
      if (hearing.node == node) entries.push_back(fold.entry_of(hearing));
    }
    std::ranges::sort(entries);
    fold.begin_refold(node);
    for (const evidence::Entry& entry : entries) fold.add_in_order(node, entry);
  }
  return fold.finish(kConfidence);
}

void take_sequence(const evidence::Sequence& sequence, Judged& judged) {
  judged.expected = sequence.expected;
  judged.missed = sequence.missed;
  judged.strays = sequence.strays;
  for (const evidence::CounterBreak& counter_break : sequence.breaks) {
    judged.restarts.push_back({counter_break.at.ns, kind_of(counter_break.kind)});
  }
}

void take_cadence(const evidence::Cadence& cadence, Judged& judged) {
  judged.interval_s = estimated(cadence.interval);
  judged.jitter_s = cadence.jitter_s;
  for (const evidence::IntervalChange& change : cadence.changes) {
    judged.changes.push_back({change.at.ns, change.from.in_seconds(), change.to.in_seconds()});
  }
}

}  // namespace

Judged judge_log(std::span<const Row> rows, const Facts& facts) {
  const judge::FleetVerdict verdict =
      judge::judge(fold(rows, facts), [](fleet::NodeIndex) { return judge::NodeTerms{}; }, {});
  Judged judged;
  if (verdict.nodes.empty()) return judged;
  const judge::NodeVerdict& node = verdict.nodes.front();
  judged.reports = node.evidence.heard.reports;
  judged.hearings = node.evidence.heard.hearings;
  judged.duplicates = node.evidence.heard.duplicates;
  if (node.evidence.sequence) take_sequence(*node.evidence.sequence, judged);
  if (node.evidence.cadence) take_cadence(*node.evidence.cadence, judged);
  if (node.delivery) {
    judged.delivery = Estimated{node.delivery->ratio, node.delivery->low, node.delivery->high};
  }
  return judged;
}

}  // namespace fieldfare::truth
