// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/slot_draft.h"

#include <fmt/format.h>

#include <algorithm>

namespace fieldfare::learn {
namespace {

void set_hex(fleet::FieldPlace& place) {
  std::visit(
      [](auto& at) {
        if constexpr (requires { at.coding; }) at.coding = fleet::TextCoding::hex;
      },
      place);
}

}  // namespace

Draft::Draft(const SlotTable& table)
    // Names that readings can't have, as logs give them another meaning.
    : table_{&table}, names_{"rssi_dbm", "snr_db", "noise_dbm", "supply_v", "arrived_at"} {
  for (const Slot& slot : table.slots) {
    facts_.push_back(facts_of(slot));
    senses_.push_back(sense_of(slot.key, slot.unit));
  }
  taken_.assign(table.slots.size(), false);
}

fleet::FieldLayout& Draft::add(std::size_t slot, fleet::FieldRole role, const std::string& name) {
  taken_[slot] = true;
  fleet::FieldLayout field;
  field.name = free_name(name);
  field.role = role;
  field.place = table_->slots[slot].place;
  if (table_->slots[slot].is_hex) set_hex(field.place);
  // A report that doesn't say whose it is can't be used.
  const bool names_the_node = role == fleet::FieldRole::address || role == fleet::FieldRole::name;
  field.optional = !names_the_node && facts_[slot].there < table_->reports();
  made_.push_back({slot, std::move(field)});
  return made_.back().field;
}

std::string Draft::free_name(const std::string& name) {
  std::string free = name;
  for (std::size_t n = 1; !names_.insert(free).second; ++n) free = fleet::repeated_name(name, n);
  return free;
}

void Draft::say(std::string part, Sureness sureness, std::string what, std::string decides) {
  findings_.push_back(
      {std::move(part), sureness, std::move(what), std::move(decides), std::nullopt});
}

void Draft::say_of_it(std::string part, Sureness sureness, std::string what, std::string decides) {
  say(std::move(part), sureness, std::move(what), std::move(decides));
  about_.emplace_back(findings_.size() - 1, made_.back().slot);
}

std::string Draft::span(std::size_t slot) const {
  return fmt::format("{:.6g} to {:.6g}", facts_[slot].least, facts_[slot].most);
}

Described Draft::finish() {
  std::stable_sort(made_.begin(), made_.end(),
                   [](const Made& a, const Made& b) { return a.slot < b.slot; });
  Described out;
  for (Made& each : made_) {
    out.fields.push_back(std::move(each.field));
    out.slots.push_back(each.slot);
  }
  out.findings = std::move(findings_);
  for (const auto& [finding, slot] : about_) {
    const auto at = std::find(out.slots.begin(), out.slots.end(), slot);
    out.findings[finding].field = static_cast<std::size_t>(at - out.slots.begin());
  }
  return out;
}

}  // namespace fieldfare::learn
