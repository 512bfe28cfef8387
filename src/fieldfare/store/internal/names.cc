// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/store/internal/names.h"

#include <optional>

#include "fieldfare/base/address.h"

namespace fieldfare::store {
namespace {

// Ids are handed out by the database from 1 on, so vectors index by them; a
// number beyond all names that Labels can hold comes from a damaged file.
constexpr std::size_t kMostIds = 4 * fleet::Labels::kMostNames;

void put(std::vector<std::uint32_t>& table, std::size_t at, std::uint32_t value) {
  if (at >= kMostIds) throw Fault{SQLITE_CORRUPT, "an id that was never handed out", {}};
  if (table.size() <= at) table.resize(at + 1, 0xffffffff);
  table[at] = value;
}

constexpr std::int64_t kWidestCounter = 32;

std::uint32_t look_up(const std::vector<std::uint32_t>& table, std::size_t at) {
  return at < table.size() ? table[at] : 0xffffffff;
}

struct StoredNode {
  std::uint32_t id = 0;
  std::optional<Address> address;
  std::string name;
  bool shared_counter = false;
  std::optional<std::uint8_t> sequence_bits;
};

std::vector<StoredNode> nodes_after(Database& database, std::size_t last_id, bool listed) {
  Statement query = database.prepare(
      "SELECT id, address, name, shared_counter, sequence_bits FROM node"
      " WHERE id > ? AND (listed <> 0) = ? ORDER BY id");
  query.bind(1, static_cast<std::int64_t>(last_id));
  query.bind(2, std::int64_t{listed});
  std::vector<StoredNode> nodes;
  while (query.step()) {
    StoredNode node{static_cast<std::uint32_t>(query.integer(0)), parse_address(query.text(1)),
                    std::string{query.text(2)}, query.integer(3) != 0, std::nullopt};
    if (const std::int64_t bits = query.integer(4); bits >= 1 && bits <= kWidestCounter) {
      node.sequence_bits = static_cast<std::uint8_t>(bits);
    }
    nodes.push_back(std::move(node));
  }
  return nodes;
}

std::optional<fleet::NodeIndex> enter(fleet::Labels& labels, const StoredNode& node, bool listed) {
  if (listed) {
    if (const auto index = labels.list_node(node.name, node.address)) return index;
  }
  return labels.node(node.address ? node.address->text() : node.name);
}

void keep_counter(Database& database, std::uint32_t id, const fleet::NodeLabel& label) {
  if (!label.shared_counter && !label.sequence_bits) return;
  Statement keep = database.prepare(
      "UPDATE node SET shared_counter = max(shared_counter, ?1),"
      " sequence_bits = ifnull(?2, sequence_bits) WHERE id = ?3");
  keep.bind(1, std::int64_t{label.shared_counter});
  if (label.sequence_bits) keep.bind(2, std::int64_t{*label.sequence_bits});
  keep.bind(3, std::int64_t{id});
  keep.run();
}

std::uint32_t find_or_add(Database& database, const fleet::NodeLabel& label) {
  const std::string address = label.address ? label.address->text() : std::string{};
  // By address; else, for a node of the roster, the one a log so far knew by name.
  Statement find = database.prepare(
      "SELECT id, name, listed FROM node WHERE address IS ?1 AND (?1 IS NOT NULL OR name = ?2)"
      " UNION ALL SELECT id, name, 0 FROM node WHERE ?3 AND address IS NULL AND name = ?2 LIMIT 1");
  if (label.address) {
    find.bind(1, address);
  } else {
    find.bind_null(1);
  }
  find.bind(2, label.name);
  find.bind(3, std::int64_t{label.listed});
  if (!find.step()) {
    Statement add = database.prepare("INSERT INTO node(address, name, listed) VALUES(?, ?, ?)");
    if (label.address) add.bind(1, address);
    add.bind(2, label.name);
    add.bind(3, std::int64_t{label.listed});
    add.run();
    return static_cast<std::uint32_t>(database.integer("SELECT last_insert_rowid()"));
  }
  const auto id = static_cast<std::uint32_t>(find.integer(0));
  if (label.listed && (find.integer(2) == 0 || find.text(1) != label.name)) {
    Statement list =
        database.prepare("UPDATE node SET name = ?, address = ?, listed = 1 WHERE id = ?");
    list.bind(1, label.name);
    if (label.address) list.bind(2, address);
    list.bind(3, std::int64_t{id});
    find.reset();
    list.run();
  }
  return id;
}

}  // namespace

void Names::load(Database& database, fleet::Labels& labels) {
  const std::size_t known = node_by_id_.empty() ? 0 : node_by_id_.size() - 1;
  // Listed ones first: a roster name wins over hex.
  for (const bool listed : {true, false}) {
    for (const StoredNode& node : nodes_after(database, known, listed)) {
      const auto index = enter(labels, node, listed);
      if (!index) throw Fault{SQLITE_TOOBIG, "more nodes than one run can tell apart", {}};
      // What this run learnt itself is newer.
      const bool knows_bits = labels.label(*index).sequence_bits.has_value();
      labels.note_counter(*index, node.shared_counter,
                          knows_bits ? std::nullopt : node.sequence_bits);
      put(node_by_id_, node.id, static_cast<std::uint32_t>(*index));
    }
  }
  Statement query = database.prepare("SELECT id, name FROM receiver WHERE id > ? ORDER BY id");
  query.bind(1, receiver_by_id_.empty() ? std::int64_t{0}
                                        : static_cast<std::int64_t>(receiver_by_id_.size() - 1));
  while (query.step()) {
    const auto index = labels.receiver(query.text(1));
    if (!index) throw Fault{SQLITE_TOOBIG, "more receivers than one run can tell apart", {}};
    put(receiver_by_id_, static_cast<std::size_t>(query.integer(0)),
        static_cast<std::uint32_t>(*index));
  }
}

void Names::keep_counters(Database& database, const fleet::Labels& labels) {
  if (labels.counter_notes() == counter_notes_) return;
  counter_notes_ = labels.counter_notes();
  for (std::uint32_t i = 0; i < labels.node_count(); ++i) {
    const fleet::NodeLabel& label = labels.label(fleet::NodeIndex{i});
    const std::uint32_t id = look_up(id_by_node_, i);
    if (id != kNone) keep_counter(database, id, label);
    // Another program wrote meanwhile; the node was stored by its first hearing.
    if (id == kNone && label.shared_counter) id_of(database, labels, fleet::NodeIndex{i});
  }
}

std::uint32_t Names::id_of(Database& database, const fleet::Labels& labels, fleet::NodeIndex node) {
  const auto index = static_cast<std::size_t>(node);
  if (const std::uint32_t known = look_up(id_by_node_, index); known != kNone) return known;
  const std::uint32_t id = find_or_add(database, labels.label(node));
  keep_counter(database, id, labels.label(node));
  put(id_by_node_, index, id);
  return id;
}

std::uint32_t Names::id_of(Database& database, const fleet::Labels& labels,
                           fleet::ReceiverIndex receiver) {
  const auto index = static_cast<std::size_t>(receiver);
  if (const std::uint32_t known = look_up(id_by_receiver_, index); known != kNone) return known;
  const std::string& name = labels.receiver_name(receiver);
  Statement add = database.prepare("INSERT INTO receiver(name) VALUES(?) ON CONFLICT DO NOTHING");
  add.bind(1, name);
  add.run();
  Statement find = database.prepare("SELECT id FROM receiver WHERE name = ?");
  find.bind(1, name);
  find.step();
  const auto id = static_cast<std::uint32_t>(find.integer(0));
  put(id_by_receiver_, index, id);
  return id;
}

void Names::forget_ids() {
  id_by_node_.clear();
  id_by_receiver_.clear();
}

fleet::NodeIndex Names::node(std::uint32_t id) const {
  const std::uint32_t index = look_up(node_by_id_, id);
  if (index == kNone) throw Fault{SQLITE_CORRUPT, "a hearing of a node that is not there", {}};
  return fleet::NodeIndex{index};
}

fleet::ReceiverIndex Names::receiver(std::uint32_t id) const {
  const std::uint32_t index = look_up(receiver_by_id_, id);
  if (index == kNone) throw Fault{SQLITE_CORRUPT, "a hearing of a receiver that is not there", {}};
  return fleet::ReceiverIndex{index};
}

std::vector<std::uint32_t> Names::ids(fleet::NodeIndex node) const {
  std::vector<std::uint32_t> found;
  for (std::uint32_t id = 0; id < node_by_id_.size(); ++id) {
    if (node_by_id_[id] == static_cast<std::uint32_t>(node)) found.push_back(id);
  }
  return found;
}

}  // namespace fieldfare::store
