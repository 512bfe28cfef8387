// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/slot_series.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <unordered_map>

#include "fieldfare/base/address.h"

namespace fieldfare::learn {
namespace {

constexpr std::size_t kMostNodes = 4096;
constexpr double kMostCounted = 9007199254740992.0;  // 2^53: whole numbers are exact up to here

/// What stands in a slot as whole numbers.
std::vector<std::optional<std::int64_t>> whole_numbers(const Slot& slot) {
  std::vector<std::optional<std::int64_t>> numbers;
  numbers.reserve(slot.cells.size());
  for (const auto& cell : slot.cells) {
    const bool is_whole = cell && cell->number && *cell->number == std::floor(*cell->number) &&
                          std::fabs(*cell->number) < kMostCounted;
    numbers.push_back(is_whole ? std::optional{static_cast<std::int64_t>(*cell->number)}
                               : std::nullopt);
  }
  return numbers;
}

/// Calls `step(change)` for each pair of reports of one node that follow each other.
template <class Step>
void for_each_step(const SlotTable& table, const NodeNumbers& nodes,
                   const std::vector<std::optional<std::int64_t>>& numbers, Step step) {
  std::vector<std::optional<std::int64_t>> last(std::max<std::size_t>(nodes.names.size(), 1));
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    if (table.breaks[i] != 0) std::fill(last.begin(), last.end(), std::nullopt);
    if (!nodes.of[i] || !numbers[i]) continue;
    auto& before = last[*nodes.of[i]];
    if (before) step(*before, *numbers[i]);
    before = numbers[i];
  }
}

Steps steps_of(const SlotTable& table, const NodeNumbers& nodes,
               const std::vector<std::optional<std::int64_t>>& numbers) {
  constexpr std::int64_t kLargestStep = 16;
  constexpr std::int64_t kMostMissed = 64;
  Steps steps;
  std::map<std::int64_t, std::size_t> changes;
  std::vector<std::int64_t> all;
  for_each_step(table, nodes, numbers, [&](std::int64_t before, std::int64_t now) {
    ++steps.pairs;
    const std::int64_t change = now - before;
    if (change == 0) ++steps.same;
    if (change > 0) ++steps.rising;
    if (change > 0 && change <= kLargestStep) ++changes[change];
    all.push_back(change);
  });
  for (const auto& [change, count] : changes) {
    if (count > steps.usual) {
      steps.usual = count;
      steps.step = change;
    }
  }
  for (const std::int64_t change : all) {
    if (change > 0 && change % steps.step == 0 && change / steps.step <= kMostMissed)
      ++steps.onward;
  }
  return steps;
}

bool can_be_node(const KeySense& sense, const SlotFacts& facts, std::size_t reports) {
  if (facts.there * 2 < reports || facts.distinct == 0 || facts.distinct > kMostNodes) return false;
  // Who speaks will speak again.
  const std::size_t times = sense.node ? 1 : 3;
  if (facts.distinct > 1 && facts.distinct * times >= facts.there) return false;
  // One or two may be damaged.
  constexpr std::size_t kTenth = 10;
  if (kTenth * (facts.numbers - facts.whole) > facts.there) return false;
  if (facts.is_number() && facts.least < 0) return false;
  return sense.quantity.empty() && !sense.rssi && !sense.snr && !sense.lqi && !sense.supply &&
         !sense.receiver && !sense.noise && (sense.unit.empty() || sense.node) && !sense.time;
}

/// Hours, minutes and seconds count, too, and begin again at the same number each time.
bool is_part_of_a_clock(const SlotFacts& facts) {
  return (facts.most == 59 || facts.most == 23) && facts.distinct <= 60;
}

bool can_be_counter(const KeySense& sense, const SlotFacts& facts) {
  constexpr double kFirstUnixTime = 9.4e8;  // 1999: no counter of reports got there
  return facts.is_number() && facts.whole == facts.numbers && facts.distinct > 2 &&
         facts.least >= 0 && facts.middle < kFirstUnixTime && sense.quantity.empty() &&
         !sense.supply && !sense.rssi && !sense.snr && sense.unit.empty() &&
         !is_part_of_a_clock(facts);
}

/// Digits of one width, as labels of hardware have them.
bool look_like_addresses(const NodeNumbers& nodes) {
  constexpr std::size_t kShortest = 5;
  return !nodes.names.empty() &&
         std::all_of(nodes.names.begin(), nodes.names.end(), [&](const std::string& name) {
           const auto address = parse_address(name);
           return address && address->digits >= kShortest &&
                  name.size() == nodes.names.front().size() &&
                  name.find_first_of("0123456789") != std::string::npos;
         });
}

bool is_called_address(const std::string& key) {
  const auto words = words_of(key);
  return std::any_of(words.begin(), words.end(), [](const std::string& word) {
    return word == "eui" || word == "deveui" || word == "mac" || word == "addr" ||
           word == "address";
  });
}

struct Choice {
  std::optional<std::size_t> node;
  std::optional<std::size_t> counter;
  Steps steps;
  std::size_t labels_met = 0;
  double score = 0;
};

std::size_t labels_met(const NodeNumbers& nodes, std::span<const std::string> labels) {
  return static_cast<std::size_t>(
      std::count_if(labels.begin(), labels.end(), [&](const auto& label) {
        return std::any_of(nodes.names.begin(), nodes.names.end(),
                           [&](const auto& name) { return ends_in_label(name, label); });
      }));
}

double node_score(const SeriesInput& input, const NodeNumbers& nodes, std::size_t slot,
                  std::size_t met) {
  double score = input.senses[slot].node ? 0.4 : 0;
  if (!input.labels.empty()) {
    score += 1.5 * static_cast<double>(met) / static_cast<double>(input.labels.size());
  }
  if (look_like_addresses(nodes)) score += 0.3;
  if (is_called_address(input.table.slots[slot].key)) score += 0.05;
  // What stands first is most often who speaks; and few names are better than many.
  if (slot == 0) score += 0.06;
  const auto distinct = static_cast<double>(nodes.names.size());
  return score -
         0.2 * distinct / static_cast<double>(std::max<std::size_t>(input.table.reports(), 1));
}

double counter_score(const SeriesInput& input, std::size_t slot, const Steps& steps) {
  const bool is_named = input.senses[slot].counter;
  if (steps.pairs < 2) return is_named ? 0.1 : 0;
  const auto pairs = static_cast<double>(steps.pairs);
  const double moved = std::sqrt(1 - static_cast<double>(steps.same) / pairs);
  double share = steps.share() * moved;
  if (is_named) share = std::max(share, 0.3 * static_cast<double>(steps.rising) / pairs) + 0.5;
  return share;
}

/// The first of the slots that may be something, those that are called so before others.
/// Pairs of them are tried, so there must not be too many.
template <class CanBe>
std::vector<std::size_t> candidates_of(const SeriesInput& input, bool KeySense::*called_so,
                                       CanBe can_be) {
  constexpr std::size_t kMost = 24;
  std::vector<std::size_t> candidates;
  for (const bool is_called_so : {true, false}) {
    for (std::size_t i = 0; i < input.table.slots.size() && candidates.size() < kMost; ++i) {
      if (input.senses[i].*called_so == is_called_so && can_be(i)) candidates.push_back(i);
    }
  }
  return candidates;
}

}  // namespace

double Steps::share() const {
  if (pairs == same || pairs == 0) return 0;
  const auto moved = static_cast<double>(pairs - same);
  const double share =
      (static_cast<double>(usual) + 0.5 * static_cast<double>(onward - usual)) / moved;
  return step == 1 ? share : 0.9 * share;
}

bool ends_in_label(std::string_view name, std::string_view label) {
  const auto plain = [](std::string_view text) {
    std::string out;
    for (const char c : text) {
      if (c == ':' || c == '-' || c == ' ') continue;
      out += c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
    }
    return out;
  };
  const std::string end = plain(label);
  return !end.empty() && plain(name).ends_with(end);
}

NodeNumbers number_nodes(const SlotTable& table, std::optional<std::size_t> slot) {
  NodeNumbers nodes;
  nodes.of.resize(table.reports());
  if (!slot) {
    std::fill(nodes.of.begin(), nodes.of.end(), std::size_t{0});
    return nodes;
  }
  std::unordered_map<std::string_view, std::size_t> known;
  for (std::size_t i = 0; i < table.reports(); ++i) {
    const auto& cell = table.slots[*slot].cells[i];
    if (!cell) continue;
    const auto [at, is_new] = known.try_emplace(cell->text, known.size());
    if (is_new) nodes.names.push_back(cell->text);
    nodes.of[i] = at->second;
  }
  return nodes;
}

Origin find_origin(const SeriesInput& input) {
  const auto counters = candidates_of(input, &KeySense::counter, [&](std::size_t i) {
    return can_be_counter(input.senses[i], input.facts[i]);
  });
  std::vector<std::vector<std::optional<std::int64_t>>> numbers;
  numbers.reserve(counters.size());
  for (const std::size_t counter : counters)
    numbers.push_back(whole_numbers(input.table.slots[counter]));
  std::vector<std::optional<std::size_t>> nodes_tried{std::nullopt};
  for (const std::size_t node : candidates_of(input, &KeySense::node, [&](std::size_t i) {
         return can_be_node(input.senses[i], input.facts[i], input.table.reports());
       })) {
    nodes_tried.emplace_back(node);
  }
  std::vector<Choice> choices;
  for (const auto& node : nodes_tried) {
    const NodeNumbers nodes = number_nodes(input.table, node);
    const std::size_t met = node ? labels_met(nodes, input.labels) : 0;
    const double base = node ? node_score(input, nodes, *node, met) : 0;
    choices.push_back({node, std::nullopt, {}, met, base});
    for (std::size_t k = 0; k < counters.size(); ++k) {
      const std::size_t i = counters[k];
      if (node == i) continue;
      const Steps steps = steps_of(input.table, nodes, numbers[k]);
      const double score = counter_score(input, i, steps);
      constexpr double kWorthNaming = 0.5;
      if (score >= kWorthNaming) choices.push_back({node, i, steps, met, base + score});
    }
  }
  const auto best =
      std::max_element(choices.begin(), choices.end(),
                       [](const Choice& a, const Choice& b) { return a.score < b.score; });
  Origin origin;
  origin.node = best->node;
  origin.counter = best->counter;
  origin.steps = best->steps;
  origin.labels_met = best->labels_met;
  origin.node_is_named = best->node && input.senses[*best->node].node;
  origin.counter_is_named = best->counter && input.senses[*best->counter].counter;
  constexpr double kAsGood = 0.1;
  for (const Choice& other : choices) {
    if (other.score + kAsGood < best->score) continue;
    if (other.node && other.node != best->node && !origin.node_is_named)
      origin.node_rival = other.node;
    const bool same_node = other.node == best->node;
    if (same_node && other.counter && other.counter != best->counter)
      origin.counter_rival = other.counter;
  }
  return origin;
}

fleet::SequenceFacts sequence_facts(const SlotTable& table, const NodeNumbers& nodes,
                                    std::size_t counter) {
  fleet::SequenceFacts facts;
  std::map<std::int64_t, std::size_t> wraps_at;
  std::map<std::int64_t, std::size_t> starts;
  std::int64_t most = 0;
  for_each_step(table, nodes, whole_numbers(table.slots[counter]),
                [&](std::int64_t before, std::int64_t now) {
                  most = std::max({most, before, now});
                  if (now >= before) return;
                  for (const std::int64_t top : {255, 65535}) {
                    if (before <= top && before > top - 8 && now < 8) ++wraps_at[top];
                  }
                  constexpr std::int64_t kNearTheStart = 4;
                  if (now <= kNearTheStart && before > now + kNearTheStart) ++starts[now];
                });
  for (const auto& [top, count] : wraps_at) {
    if (top >= most) facts.bits = top == 255 ? 8 : 16;
  }
  if (facts.bits) return facts;
  const auto usual =
      std::max_element(starts.begin(), starts.end(),
                       [](const auto& a, const auto& b) { return a.second < b.second; });
  if (usual != starts.end() && usual->second >= 2) {
    facts.starts_at = static_cast<std::uint64_t>(usual->first);
  }
  return facts;
}

}  // namespace fieldfare::learn
