// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/evidence/entry.h"
#include "fieldfare/evidence/facts.h"
#include "fieldfare/evidence/node_evidence.h"
#include "fieldfare/fleet/hearing.h"
#include "fieldfare/fleet/labels.h"

namespace fieldfare::evidence {

/// Folds hearings into evidence, one node at a time and in bounded memory.
///
/// The result depends on the set of hearings alone, not on their order, on how
/// they were split, or on saving and restoring in between. Each node's hearings
/// are put in canonical order by a window of kReorderWindow hearings. One that
/// comes later still can't be folded any more: its node is then `overtaken`, and
/// the caller gives all of that node's hearings again, sorted, through refold().
///
/// `labels` and what `facts` refers to must outlive the fold.
class FleetFold {
 public:
  using FactsOf = std::function<NodeFacts(fleet::NodeIndex)>;

  FleetFold(const fleet::Labels& labels, FactsOf facts);
  ~FleetFold();
  FleetFold(FleetFold&&) noexcept;
  FleetFold& operator=(FleetFold&&) noexcept;
  FleetFold(const FleetFold&) = delete;
  FleetFold& operator=(const FleetFold&) = delete;

  /// Takes a hearing. Returns false where its node was overtaken, now or before:
  /// the hearing then waits for refold().
  bool add(const fleet::Hearing& hearing);

  /// Nodes whose hearings must be given again: one came too late, or something
  /// has become known of the node since its first was taken.
  std::vector<fleet::NodeIndex> overtaken() const;

  /// The hearing as refold() wants it; several entries of a node are sorted with
  /// operator<.
  Entry entry_of(const fleet::Hearing& hearing) const;

  /// Starts a node afresh; all its hearings follow, in ascending order, through
  /// add_in_order().
  void begin_refold(fleet::NodeIndex index);
  void add_in_order(fleet::NodeIndex index, const Entry& entry);

  /// What all hearings so far amount to, with intervals at `confidence`. Reports
  /// missed in stretches of `deaf`, where nobody listened to any receiver that
  /// hears the node as a rule, are not charged to it. What a receiver heard in such a
  /// stretch and delivered later shows that it wasn't deaf. A node whose counter the
  /// labels know by now to run for several listeners is charged with no losses. The
  /// fold can go on afterwards.
  FleetEvidence finish(double confidence, std::span<const Deafness> deaf = {}) const;

  /// A node's state as bytes, to go on from later; not of an overtaken node, whose
  /// state lacks a hearing. Receivers go by name, and `labels` must know them again
  /// when the state is restored. Versioned, with a checksum; restore_node() refuses
  /// (false) bytes of another version, of other facts, and damaged ones. It then
  /// leaves the fold as it was, and the node has to be folded from its hearings.
  std::string save_node(fleet::NodeIndex index) const;
  [[nodiscard]] bool restore_node(fleet::NodeIndex index, std::string_view bytes);

  /// When each receiver heard anything at all, likewise.
  std::string save_receivers() const;
  [[nodiscard]] bool restore_receivers(std::string_view bytes);

  /// Nodes touched by add() or refolding since construction, or since restoring.
  std::vector<fleet::NodeIndex> touched() const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace fieldfare::evidence
