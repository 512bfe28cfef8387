// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/slot_values.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <set>
#include <utility>
#include <vector>

#include "fieldfare/learn/internal/readings.h"
#include "fieldfare/learn/internal/slot_readings.h"
#include "fieldfare/wire/excerpt.h"

namespace fieldfare::learn {
namespace {

using fleet::FieldRole;

using Pins = std::vector<std::pair<std::size_t, Pinned>>;

std::vector<Sampled> samples_of(const SlotTable& table, const NodeNumbers& nodes,
                                std::size_t slot) {
  std::vector<Sampled> samples;
  for (std::size_t i = 0; i < table.reports(); ++i) {
    const auto& cell = table.slots[slot].cells[i];
    if (cell && cell->number && nodes.of[i])
      samples.push_back({*nodes.of[i], table.at[i], *cell->number});
  }
  return samples;
}

/// Slots that agree with what an instrument said of a field become that field.
void pin_field(Draft& draft, const std::string& field, const Pins& agreeing) {
  if (agreeing.empty()) {
    draft.say("field", Sureness::open,
              fmt::format("no value agrees with what the instrument said of `{}`", field),
              "another value of the instrument, with its time");
    return;
  }
  const std::string quantity = field.substr(0, field.rfind('_'));
  const bool is_supply = field == "supply_v";
  const auto is_called_so = [&](std::size_t slot) {
    const KeySense& sense = draft.senses()[slot];
    return sense.quantity == quantity || (is_supply && sense.supply);
  };
  // What is called so, and of several the one that chance explains least.
  const auto rank = [&](const auto& each) {
    constexpr double kAName = 20;  // bits: a name is hardly ever wrong
    return (is_called_so(each.first) ? kAName : 0) + each.second.wonder_bits;
  };
  const auto best =
      std::max_element(agreeing.begin(), agreeing.end(),
                       [&](const auto& a, const auto& b) { return rank(a) < rank(b); });
  const auto& [slot, pinned] = *best;
  const bool is_alone = agreeing.size() == 1;
  fleet::FieldLayout& layout = draft.add(slot, is_supply ? FieldRole::supply : FieldRole::reading,
                                         is_supply ? "supply" : field);
  layout.conversion.scale = pinned.scale;
  layout.conversion.offset = pinned.offset;
  draft.say_of_it(
      "field", is_alone || is_called_so(slot) ? Sureness::likely : Sureness::guess,
      fmt::format("{} is `{}`: times {:.6g} plus {:.6g} it agrees with the instrument to {:.3g}{}",
                  draft.called(slot), field, pinned.scale, pinned.offset, pinned.misfit,
                  is_alone ? "" : fmt::format("; {} others would, too", agreeing.size() - 1)),
      "a value of the instrument at another level");
}

void find_pinned(Draft& draft, const NodeNumbers& nodes, std::span<const std::string> node_labels,
                 const Sample& sample) {
  std::set<std::string> asked;
  for (const InstrumentValue& value : sample.values) {
    if (!asked.insert(value.field).second) continue;
    std::vector<InstrumentValue> values;
    std::copy_if(sample.values.begin(), sample.values.end(), std::back_inserter(values),
                 [&](const auto& each) { return each.field == value.field; });
    Pins agreeing;
    for (std::size_t i = 0; i < draft.table().slots.size(); ++i) {
      if (!draft.is_free_number(i)) continue;
      if (const auto pinned = pin(samples_of(draft.table(), nodes, i), values, node_labels)) {
        agreeing.emplace_back(i, *pinned);
      }
    }
    pin_field(draft, value.field, agreeing);
  }
}

void find_supply(Draft& draft) {
  for (std::size_t i = 0; i < draft.table().slots.size(); ++i) {
    const KeySense& sense = draft.senses()[i];
    const SlotFacts& facts = draft.facts()[i];
    const auto scale =
        draft.is_free_number(i) && sense.supply ? supply_scale(sense, facts) : std::nullopt;
    if (!scale) continue;
    draft.add(i, FieldRole::supply, "supply").conversion.scale = *scale;
    const bool is_as_said = sense.unit == "mv" || (sense.unit == "v" && *scale == 1);
    draft.say_of_it(
        "field", is_as_said ? Sureness::likely : Sureness::guess,
        fmt::format("{} is the supply: {}, given in {}; times {} it is {:.6g} to {:.6g} V",
                    draft.called(i), draft.span(i), sense.unit.empty() ? "no unit" : sense.unit,
                    *scale, facts.least * *scale, facts.most * *scale),
        is_as_said ? "" : "the voltage of a node's cells, measured: `supply_v`");
    return;
  }
}

/// A value as an example of what stands in a slot.
std::string example_of(const Slot& slot) {
  const auto found = std::find_if(slot.cells.begin(), slot.cells.end(),
                                  [](const auto& cell) { return cell.has_value(); });
  return found == slot.cells.end() ? "nothing" : '"' + wire::excerpt((*found)->text) + '"';
}

void add_reading(Draft& draft, std::size_t i) {
  const Slot& slot = draft.table().slots[i];
  const KeySense& sense = draft.senses()[i];
  if (!draft.facts()[i].varies() && sense.quantity.empty()) {
    draft.leave_out(i);
    draft.say("field", Sureness::open,
              fmt::format("{} is always {}: left out", draft.called(i), example_of(slot)));
    return;
  }
  ReadingGuess guess = guess_reading(slot, sense, draft.facts()[i]);
  draft.add(i, FieldRole::reading, guess.name).conversion.scale = guess.scale;
  std::string what =
      fmt::format("{} is `{}`: {}", draft.called(i), draft.last_name(), draft.span(i));
  if (!slot.unit.empty()) what += ", with " + wire::excerpt(slot.unit) + " behind it";
  if (!guess.remark.empty()) what += "; " + guess.remark;
  draft.say_of_it("field", guess.sureness, std::move(what), std::move(guess.decides));
}

/// Characters of the longest text of a slot, where it may be octets of a frame.
std::optional<std::size_t> payload_size(const Slot& slot, const KeySense& sense,
                                        const SlotFacts& facts) {
  constexpr std::size_t kShortestHex = 16;
  std::size_t longest = 0;
  bool is_hex = true;
  for (const auto& cell : slot.cells) {
    if (!cell) continue;
    longest = std::max(longest, cell->text.size());
    is_hex = is_hex && cell->text.find_first_not_of("0123456789abcdefABCDEF") == std::string::npos;
  }
  const bool changes_often = 16 * facts.distinct > facts.there;
  const bool may_be = sense.payload || (is_hex && longest >= kShortestHex);
  return may_be && changes_often ? std::optional{longest} : std::nullopt;
}

/// Text that is nobody's name: said, and not read.
void leave_out_text(Draft& draft, std::size_t i) {
  draft.leave_out(i);
  const Slot& slot = draft.table().slots[i];
  const SlotFacts& facts = draft.facts()[i];
  if (const auto size = payload_size(slot, draft.senses()[i], facts)) {
    draft.say("body", Sureness::guess,
              fmt::format("{} carries up to {} characters that may be a frame within: not followed",
                          draft.called(i), *size),
              "the frames alone, learnt as bytes");
  } else if (facts.varies()) {
    draft.say("field", Sureness::open,
              fmt::format("{} is text with {} values, such as {}: left out", draft.called(i),
                          facts.distinct, example_of(slot)));
  }
}

}  // namespace

void find_readings(Draft& draft, const NodeNumbers& nodes, std::span<const std::string> node_labels,
                   const Sample& sample) {
  find_pinned(draft, nodes, node_labels, sample);
  find_supply(draft);
  for (std::size_t i = 0; i < draft.table().slots.size(); ++i) {
    if (!draft.is_free(i)) continue;
    if (draft.facts()[i].is_number()) {
      add_reading(draft, i);
    } else {
      leave_out_text(draft, i);
    }
  }
}

}  // namespace fieldfare::learn
