// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/fleet/labels.h"

#include <utility>

namespace fieldfare::fleet {
namespace {

bool fits(std::string_view name) { return !name.empty() && name.size() <= Labels::kLongestName; }

/// Looks `name` up and gives it the next number where it is new.
template <class Index, class ByName>
std::optional<Index> number_of(std::string_view name, std::vector<std::string>& names,
                               ByName& by_name) {
  if (const auto known = by_name.find(name); known != by_name.end()) return known->second;
  if (!fits(name) || names.size() >= Labels::kMostNames) return std::nullopt;
  const Index index{static_cast<std::uint32_t>(names.size())};
  names.emplace_back(name);
  by_name.emplace(name, index);
  return index;
}

}  // namespace

std::optional<NodeIndex> Labels::list_node(std::string_view name, std::optional<Address> address) {
  if (!fits(name) || nodes_.size() >= kMostNames || node_by_text_.contains(name)) {
    return std::nullopt;
  }
  if (address && node_by_address_.contains(*address)) return std::nullopt;
  const NodeIndex index{static_cast<std::uint32_t>(nodes_.size())};
  nodes_.push_back({.name = std::string{name}, .address = address, .listed = true});
  node_by_text_.emplace(name, index);
  if (address) node_by_address_.emplace(*address, index);
  return index;
}

std::optional<NodeIndex> Labels::node(std::string_view text) {
  if (const auto known = node_by_text_.find(text); known != node_by_text_.end()) {
    return known->second;
  }
  if (!fits(text)) return std::nullopt;

  const std::optional<Address> address = parse_address(text);
  if (address) {
    if (const auto known = node_by_address_.find(*address); known != node_by_address_.end()) {
      // Remembered to save the parsing; one address has many spellings, so
      // hostile input must not be able to make us remember them all.
      if (node_by_text_.size() < 2 * kMostNames) node_by_text_.emplace(text, known->second);
      return known->second;
    }
  }
  if (nodes_.size() >= kMostNames) return std::nullopt;
  const NodeIndex index{static_cast<std::uint32_t>(nodes_.size())};
  nodes_.push_back({.name = address ? address->text() : std::string{text}, .address = address});
  node_by_text_.emplace(text, index);
  if (address) node_by_address_.emplace(*address, index);
  return index;
}

std::optional<NodeIndex> Labels::node(Address address) {
  const auto known = find(address);
  return known ? known : node(address.text());
}

std::optional<NodeIndex> Labels::find(Address address) const {
  const auto known = node_by_address_.find(address);
  if (known == node_by_address_.end()) return std::nullopt;
  return known->second;
}

void Labels::note_counter(NodeIndex index, bool shared, std::optional<std::uint8_t> bits) {
  NodeLabel& label = nodes_[static_cast<std::size_t>(index)];
  if ((!shared || label.shared_counter) && (!bits || bits == label.sequence_bits)) return;
  label.shared_counter = label.shared_counter || shared;
  if (bits) label.sequence_bits = bits;
  ++counter_notes_;
}

std::optional<ReceiverIndex> Labels::receiver(std::string_view name) {
  return number_of<ReceiverIndex>(name, receivers_, receiver_by_name_);
}

std::optional<FieldIndex> Labels::field(std::string_view name) {
  return number_of<FieldIndex>(name, fields_, field_by_name_);
}

}  // namespace fieldfare::fleet
