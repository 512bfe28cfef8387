// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "fieldfare/evidence/fleet_fold.h"
#include "fieldfare/evidence/internal/activity.h"
#include "fieldfare/evidence/internal/node_fold.h"
#include "fieldfare/evidence/internal/reorder_window.h"
#include "fieldfare/evidence/internal/silences.h"

namespace fieldfare::evidence {

struct FleetFold::Impl {
  struct Node {
    explicit Node(NodeFacts known) : facts{known}, fold{known} {}

    NodeFacts facts;
    internal::ReorderWindow window;
    internal::NodeFold fold;
    bool overtaken = false;
    bool touched = false;
  };

  const fleet::Labels* labels;
  FactsOf facts_of;
  std::vector<std::unique_ptr<Node>> nodes;   ///< by NodeIndex; null before its first hearing
  std::vector<internal::Activity> activity;   ///< by ReceiverIndex
  mutable std::vector<std::uint32_t> hashes;  ///< of receiver names, by ReceiverIndex

  Node& node(fleet::NodeIndex index) {
    const auto i = static_cast<std::size_t>(index);
    if (i >= nodes.size()) nodes.resize(i + 1);
    if (!nodes[i]) nodes[i] = std::make_unique<Node>(facts_of(index));
    return *nodes[i];
  }
  /// Null where nothing was heard of it.
  const Node* find(fleet::NodeIndex index) const {
    const auto i = static_cast<std::size_t>(index);
    return i < nodes.size() ? nodes[i].get() : nullptr;
  }
  std::vector<std::size_t> by_label() const;
  NodeEvidence evidence_of(const internal::NodeFold& fold, double confidence) const;
  KnownDeafness deafness(std::span<const Deafness> told, std::span<const NodeEvidence> heard) const;
  static void tell_usual(NodeEvidence& node, const KnownDeafness& deaf);
  std::vector<ReceiverSilence> silences(std::span<internal::NodeSilences> heard,
                                        const KnownDeafness& deaf) const;
  std::uint32_t hash_of(std::size_t receiver) const;
  internal::Activity& activity_of(std::size_t receiver) {
    if (receiver >= activity.size()) activity.resize(receiver + 1);
    return activity[receiver];
  }
  const std::string& name_of(fleet::ReceiverIndex receiver) const {
    return labels->receiver_name(receiver);
  }

  /// A node with what still waits in its window folded as well.
  static internal::NodeFold folded(const Node& node) {
    internal::NodeFold fold = node.fold;
    for (std::size_t i = 0; i < node.window.size(); ++i) fold.add(node.window.at(i));
    return fold;
  }
};

}  // namespace fieldfare::evidence
