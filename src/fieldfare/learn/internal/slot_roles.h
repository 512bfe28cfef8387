// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "fieldfare/fleet/sheet.h"
#include "fieldfare/learn/internal/slots.h"
#include "fieldfare/learn/learn.h"

namespace fieldfare::learn {

/// What the slots of a table are to us.
struct Described {
  std::vector<fleet::FieldLayout> fields;  ///< in the order of slots
  std::vector<std::size_t> slots;          ///< by field: the slot it came from
  std::vector<Finding> findings;           ///< `field` counts in `fields`
  fleet::SequenceFacts sequence;
  std::vector<std::string> nodes;  ///< as hearings will call them
};

/// Tells node, counter, time, signal and readings apart: by label digits, by how
/// values change from report to report of a node, by what keys and units say, and
/// by what instruments beside nodes said. Fields that some reports lack are optional.
Described describe(const SlotTable& table, const Sample& sample);

}  // namespace fieldfare::learn
