// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "fieldfare/base/address.h"
#include "fieldfare/fleet/hearing.h"

namespace fieldfare::fleet {

/// How a node is known: by its roster name, its address, or both.
struct NodeLabel {
  std::string name;  ///< roster name; else the address in hex; else the text of the log
  std::optional<Address> address;
  bool listed = false;  ///< stands in the site's roster
  /// One counter for many listeners, as captures show: gaps are no losses.
  bool shared_counter = false;
  std::optional<std::uint8_t> sequence_bits = {};  ///< width of its counter, as its protocol says
};

/// Gives every node, receiver and field a small number, the same for each way
/// of writing it. A roster name wins over hex: list_node() first, then read.
///
/// Bounded against hostile input: at most kMostNames of each kind, names of at
/// most kLongestName bytes; beyond that the look-up gives nothing and the
/// caller skips its row, saying so.
class Labels {
 public:
  static constexpr std::size_t kMostNames = 1'000'000;
  static constexpr std::size_t kLongestName = 128;

  /// Enters a node of the roster. Returns nothing where its name or address is
  /// taken by another listed node.
  std::optional<NodeIndex> list_node(std::string_view name, std::optional<Address> address);

  /// The node that a log calls `text`; made on first sight.
  std::optional<NodeIndex> node(std::string_view text);
  /// The same for an address that frames carry.
  std::optional<NodeIndex> node(Address address);
  /// The node of that address, if it is known; makes none.
  std::optional<NodeIndex> find(Address address) const;
  std::optional<ReceiverIndex> receiver(std::string_view name);
  std::optional<FieldIndex> field(std::string_view name);

  /// What was learnt of a node's counter. Only adds: `shared` stays true, and a
  /// width is replaced by another one alone.
  void note_counter(NodeIndex index, bool shared, std::optional<std::uint8_t> bits);
  /// How often note_counter() told something new.
  std::uint64_t counter_notes() const { return counter_notes_; }

  const NodeLabel& label(NodeIndex index) const { return nodes_[static_cast<std::size_t>(index)]; }
  const std::string& receiver_name(ReceiverIndex index) const {
    return receivers_[static_cast<std::size_t>(index)];
  }
  const std::string& field_name(FieldIndex index) const {
    return fields_[static_cast<std::size_t>(index)];
  }
  std::size_t node_count() const { return nodes_.size(); }
  std::size_t receiver_count() const { return receivers_.size(); }
  std::size_t field_count() const { return fields_.size(); }

 private:
  struct TextHash {
    using is_transparent = void;
    std::size_t operator()(std::string_view text) const {
      return std::hash<std::string_view>{}(text);
    }
  };
  template <class Value>
  using ByText = std::unordered_map<std::string, Value, TextHash, std::equal_to<>>;

  std::vector<NodeLabel> nodes_;
  std::vector<std::string> receivers_;
  std::vector<std::string> fields_;
  ByText<NodeIndex> node_by_text_;  ///< every spelling seen so far
  std::unordered_map<Address, NodeIndex> node_by_address_;
  ByText<ReceiverIndex> receiver_by_name_;
  ByText<FieldIndex> field_by_name_;
  std::uint64_t counter_notes_ = 0;
};

}  // namespace fieldfare::fleet
