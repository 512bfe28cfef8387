// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "fieldfare/learn/internal/slot_roles.h"
#include "fieldfare/learn/internal/slot_words.h"
#include "fieldfare/learn/internal/slots.h"

namespace fieldfare::learn {

/// A description in the making: slot by slot is taken for something, or left out.
class Draft {
 public:
  explicit Draft(const SlotTable& table);

  const SlotTable& table() const { return *table_; }
  const std::vector<SlotFacts>& facts() const { return facts_; }
  const std::vector<KeySense>& senses() const { return senses_; }
  const std::vector<bool>& taken() const { return taken_; }
  bool is_free(std::size_t slot) const { return !taken_[slot]; }
  bool is_free_number(std::size_t slot) const { return !taken_[slot] && facts_[slot].is_number(); }

  /// Takes a slot for a field. The name gets a number where another field has it.
  fleet::FieldLayout& add(std::size_t slot, fleet::FieldRole role, const std::string& name);
  /// Takes a slot for nothing.
  void leave_out(std::size_t slot) { taken_[slot] = true; }

  void say(std::string part, Sureness sureness, std::string what, std::string decides = {});
  /// About the field that was added last.
  void say_of_it(std::string part, Sureness sureness, std::string what, std::string decides = {});
  const std::string& last_name() const { return made_.back().field.name; }

  /// For findings: what a slot is called, and its smallest and largest number.
  std::string called(std::size_t slot) const { return table_->slots[slot].called(); }
  std::string span(std::size_t slot) const;

  /// Fields in the order of slots, and what was said of them.
  Described finish();

 private:
  struct Made {
    std::size_t slot;
    fleet::FieldLayout field;
  };

  std::string free_name(const std::string& name);

  const SlotTable* table_;
  std::vector<SlotFacts> facts_;
  std::vector<KeySense> senses_;
  std::vector<bool> taken_;
  std::vector<Made> made_;
  std::set<std::string> names_;
  std::vector<Finding> findings_;
  std::vector<std::pair<std::size_t, std::size_t>> about_;  ///< finding, slot
};

}  // namespace fieldfare::learn
