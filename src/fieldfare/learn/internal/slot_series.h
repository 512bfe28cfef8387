// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "fieldfare/fleet/sheet.h"
#include "fieldfare/learn/internal/slot_words.h"
#include "fieldfare/learn/internal/slots.h"

// Which slot says what node sent a report, and which one counts its reports. The
// two are looked for together: a counter rises by one from report to report of a
// node, and only of a node.
namespace fieldfare::learn {

/// How the values of a slot change from one report of a node to its next.
struct Steps {
  std::size_t pairs = 0;   ///< reports with one of the same node before them
  std::size_t same = 0;    ///< of these: no change
  std::size_t usual = 0;   ///< changes by `step`
  std::int64_t step = 1;   ///< the commonest change
  std::size_t onward = 0;  ///< changes by 1 to 64 steps
  std::size_t rising = 0;  ///< all changes upwards

  /// 0 to 1: what share of the changes are the usual step, with credit for gaps.
  double share() const;
};

struct Origin {
  std::optional<std::size_t> node;     ///< slot; nothing: none tells
  std::optional<std::size_t> counter;  ///< slot
  Steps steps;                         ///< of the counter
  bool node_is_named = false;          ///< by a key that people use for that
  bool counter_is_named = false;
  std::size_t labels_met = 0;                ///< labels whose digits a node's name ends in
  std::optional<std::size_t> node_rival;     ///< a slot that explains as much
  std::optional<std::size_t> counter_rival;  ///< another one
};

struct SeriesInput {
  const SlotTable& table;
  std::span<const KeySense> senses;  ///< by slot
  std::span<const SlotFacts> facts;  ///< by slot
  std::span<const std::string> labels;
};

Origin find_origin(const SeriesInput& input);

/// Numbers of nodes by report, from 0 in the order of their coming; all 0 where no
/// slot tells. Nothing for a report that doesn't say it.
struct NodeNumbers {
  std::vector<std::optional<std::size_t>> of;  ///< by report
  std::vector<std::string> names;              ///< as the data have them
};
NodeNumbers number_nodes(const SlotTable& table, std::optional<std::size_t> slot);

/// Width, start and restarts of a counter, as far as the reports show them.
fleet::SequenceFacts sequence_facts(const SlotTable& table, const NodeNumbers& nodes,
                                    std::size_t counter);

/// True where a name ends in the digits of a label, separators and case aside.
bool ends_in_label(std::string_view name, std::string_view label);

}  // namespace fieldfare::learn
