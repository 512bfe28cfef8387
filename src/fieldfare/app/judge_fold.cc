// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/judge_fold.h"

#include <algorithm>
#include <utility>
#include <vector>

#include "fieldfare/judge/judge.h"

namespace fieldfare::app {
namespace {

/// A node that has only to be heard yet is the first thing to be told of it.
void add_unheard(evidence::FleetEvidence& fleet, const fleet::Labels& labels) {
  std::vector<bool> heard(labels.node_count(), false);
  for (const evidence::NodeEvidence& node : fleet.nodes) {
    heard[static_cast<std::size_t>(node.node)] = true;
  }
  for (std::size_t i = 0; i < heard.size(); ++i) {
    const fleet::NodeIndex index{static_cast<std::uint32_t>(i)};
    if (heard[i] || !labels.label(index).listed) continue;
    evidence::NodeEvidence silent;
    silent.node = index;
    fleet.nodes.push_back(std::move(silent));
  }
  std::sort(fleet.nodes.begin(), fleet.nodes.end(), [&](const auto& a, const auto& b) {
    return labels.label(a.node).name < labels.label(b.node).name;
  });
}

}  // namespace

judge::FleetVerdict judge_fold(const evidence::FleetFold& fold, const fleet::Labels& labels,
                               const SiteFacts& facts, double confidence,
                               std::span<const evidence::Deafness> deaf) {
  evidence::FleetEvidence fleet = fold.finish(confidence, deaf);
  add_unheard(fleet, labels);
  judge::JudgeOptions options;
  options.proof = facts.proof();
  options.confidence = confidence;
  options.with_site = facts.with_site();
  return judge::judge(
      std::move(fleet), [&facts](fleet::NodeIndex node) { return facts.terms(node); }, options);
}

}  // namespace fieldfare::app
