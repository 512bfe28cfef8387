// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/tree_builder.h"

#include <nlohmann/json.hpp>
#include <utility>

namespace fieldfare::wire {

TreeBuilder::TreeBuilder(Tree& root) : root_{&root} { root = nullptr; }

Tree* TreeBuilder::put(Tree value) {
  Tree* const place = open_.empty() ? root_ : next_place();
  *place = std::move(value);
  return place;
}

std::optional<BodyFault> TreeBuilder::open_object() { return open(Tree::object()); }
std::optional<BodyFault> TreeBuilder::open_array() { return open(Tree::array()); }

std::optional<BodyFault> TreeBuilder::open(Tree container) {
  if (open_.size() == kDeepestBody) return BodyFault::too_deep;
  open_.push_back(put(std::move(container)));
  return std::nullopt;
}

std::optional<BodyFault> TreeBuilder::key(std::string name) {
  const auto [at, is_new] = open_.back()->emplace(std::move(name), nullptr);
  if (!is_new) return BodyFault::bad_syntax;
  member_ = &*at;
  return std::nullopt;
}

Tree* TreeBuilder::close() {
  Tree* const closed = open_.back();
  open_.pop_back();
  return closed;
}

Tree* TreeBuilder::next_place() {
  Tree& parent = *open_.back();
  if (parent.is_object()) return member_;
  parent.push_back(nullptr);
  return &parent.back();
}

}  // namespace fieldfare::wire
