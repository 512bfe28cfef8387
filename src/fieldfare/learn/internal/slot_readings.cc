// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/slot_readings.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <string_view>

namespace fieldfare::learn {
namespace {

struct Range {
  double low;
  double high;
};

/// What a quantity is outdoors and in buildings, in the unit; common practice.
struct Usual {
  std::string_view quantity;
  std::string_view unit;
  Range range;
};
constexpr auto kUsual = std::to_array<Usual>({{"temperature", "c", {-60, 100}},
                                              {"temperature", "f", {-76, 212}},
                                              {"temperature", "k", {213, 373}},
                                              {"humidity", "pct", {-1, 106}}});
/// Pressure of air by the unit that it would be in.
constexpr auto kPressures = std::to_array<Usual>({{"pressure", "hpa", {500, 1100}},
                                                  {"pressure", "kpa", {50, 110}},
                                                  {"pressure", "pa", {50'000, 110'000}}});
/// One cell nearly flat to a few in series, in V; common practice.
constexpr Range kSupply = {0.8, 20};

bool holds(const Range& range, const SlotFacts& facts, double scale) {
  return facts.low * scale >= range.low && facts.high * scale <= range.high;
}

/// The largest of the usual scales that brings most values within the range. Only whole
/// numbers are sent in parts of a unit.
std::optional<double> scale_into(const Range& range, const SlotFacts& facts) {
  if (holds(range, facts, 1)) return 1;
  if (facts.whole < facts.numbers) return std::nullopt;
  for (const double scale : {0.1, 0.01, 0.001, 0.0001}) {
    if (holds(range, facts, scale)) return scale;
  }
  return std::nullopt;
}

const Usual* usual_for(const std::string& quantity, const std::string& unit) {
  for (const Usual& each : kUsual) {
    if (each.quantity == quantity && each.unit == unit) return &each;
  }
  return nullptr;
}

std::string unit_of_pressure(const SlotFacts& facts) {
  for (const Usual& each : kPressures) {
    if (holds(each.range, facts, 1)) return std::string{each.unit};
  }
  return {};
}

bool are_truths(const Slot& slot) {
  return std::all_of(slot.cells.begin(), slot.cells.end(), [](const auto& cell) {
    return !cell || cell->text == "true" || cell->text == "false";
  });
}

std::string neutral_name(const Slot& slot) {
  if (const auto* const column = std::get_if<fleet::AtColumn>(&slot.place)) {
    return "column_" + std::to_string(column->column);
  }
  const auto* const after = std::get_if<fleet::AfterText>(&slot.place);
  return after != nullptr && after->column ? "column_" + std::to_string(*after->column) : "value";
}

}  // namespace

ReadingGuess guess_reading(const Slot& slot, const KeySense& sense, const SlotFacts& facts) {
  ReadingGuess guess;
  std::string unit = sense.unit;
  if (sense.quantity == "pressure" && unit.empty()) {
    unit = unit_of_pressure(facts);
    if (!unit.empty()) guess.remark = "as pressure of air it is in " + unit;
  }
  if (unit.empty() && are_truths(slot)) unit = "bool";
  if (const Usual* const usual = usual_for(sense.quantity, unit)) {
    const auto scale = scale_into(usual->range, facts);
    guess.scale = scale.value_or(1);
    if (!scale) guess.remark = "in this unit it can't be";
    if (guess.scale != 1) {
      guess.remark =
          fmt::format("as it stands it can't be in this unit, times {} it is {:.6g} to {:.6g}",
                      guess.scale, facts.least * guess.scale, facts.most * guess.scale);
    }
  }
  const std::string name = sense.name.empty() ? neutral_name(slot) : sense.name;
  guess.name = name + '_' + (unit.empty() ? "raw" : unit);
  if (unit.empty()) {
    guess.remark = "its unit is not known";
    guess.decides = "what it measures, and in which unit";
  } else if (!guess.remark.empty()) {
    guess.decides = fmt::format("what an instrument beside a node says: `{}`", guess.name);
  } else {
    guess.sureness = Sureness::likely;
  }
  return guess;
}

std::optional<double> supply_scale(const KeySense& sense, const SlotFacts& facts) {
  constexpr double kMillivolt = 0.001;
  if (sense.unit == "mv") {
    return holds(kSupply, facts, kMillivolt) ? std::optional{kMillivolt} : std::nullopt;
  }
  return scale_into(kSupply, facts);
}

}  // namespace fieldfare::learn
