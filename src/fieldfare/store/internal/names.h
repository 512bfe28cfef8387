// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string>
#include <unordered_set>
#include <vector>

#include "fieldfare/fleet/labels.h"
#include "fieldfare/store/internal/database.h"

namespace fieldfare::store {

/// The ids under which a store keeps nodes and receivers, against the indexes of
/// one Labels. Several ids may be one node: a log called it by a name first, and
/// later the roster said which address bears that name.
class Names {
 public:
  /// Enters what the database holds, and `labels` does not, into `labels`.
  void load(Database& database, fleet::Labels& labels);

  /// Ids for writing, made where there are none. A listed node takes its name and
  /// address of the roster with it, and each what is known of its counter. Inside
  /// a write transaction.
  std::uint32_t id_of(Database& database, const fleet::Labels& labels, fleet::NodeIndex node);
  std::uint32_t id_of(Database& database, const fleet::Labels& labels,
                      fleet::ReceiverIndex receiver);

  /// Keeps what has become known of counters since ids were last looked up, also
  /// of nodes whose hearings were all stored before: a capture shows only at its
  /// end whom a node speaks to. Inside a write transaction.
  void keep_counters(Database& database, const fleet::Labels& labels);

  /// What was made or looked up for writing is no longer believed: the
  /// transaction was rolled back, or another program wrote.
  void forget_ids();

  /// For ids of rows that were loaded; a Fault for others.
  fleet::NodeIndex node(std::uint32_t id) const;
  fleet::ReceiverIndex receiver(std::uint32_t id) const;

  /// All ids of a node that were loaded, ascending.
  std::vector<std::uint32_t> ids(fleet::NodeIndex node) const;

 private:
  static constexpr std::uint32_t kNone = 0xffffffff;
  std::vector<std::uint32_t> node_by_id_;
  std::vector<std::uint32_t> receiver_by_id_;
  std::vector<std::uint32_t> id_by_node_;
  std::vector<std::uint32_t> id_by_receiver_;
  std::uint64_t counter_notes_ = 0;  ///< of the labels, when ids were last looked up
};

}  // namespace fieldfare::store
