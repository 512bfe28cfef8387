// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/wire/internal/tree.h"

namespace fieldfare::wire {

/// Puts a tree together from what a reader meets, in its order.
class TreeBuilder {
 public:
  explicit TreeBuilder(Tree& root);

  std::size_t depth() const { return open_.size(); }

  /// A value within what is open; it stays where it is until the next one comes.
  Tree* put(Tree value);
  std::optional<BodyFault> open_object();
  std::optional<BodyFault> open_array();
  /// The key of the value that comes next.
  std::optional<BodyFault> key(std::string name);
  /// What was open; it stays where it is until the next value comes.
  Tree* close();

 private:
  std::optional<BodyFault> open(Tree container);
  Tree* next_place();

  Tree* root_;
  Tree* member_ = nullptr;
  std::vector<Tree*> open_;
};

}  // namespace fieldfare::wire
