// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/frame.h"

// Reports as tables: what lines of text and documents have in common.
namespace fieldfare::learn {

/// What stands at one place of one report.
struct Cell {
  std::string text;              ///< as it stands there; of numbers in JSON, their digits
  std::optional<double> number;  ///< where it is one
};

/// One place in all reports: a column, a key, what follows a text, a pointer.
struct Slot {
  std::string key;   ///< what people call it, in the data's own words; may be empty
  std::string unit;  ///< what stands behind the number; may be empty
  fleet::FieldPlace place;
  bool is_hex = false;                     ///< numbers are hex digits
  std::vector<std::optional<Cell>> cells;  ///< by report; nothing: not there

  /// For findings: `RSSI`, column 3, /rx/0/rssi.
  std::string called() const;
};

struct SlotTable {
  std::vector<Slot> slots;                 ///< in the order in which they stand
  std::vector<std::optional<Instant>> at;  ///< when each report came
  std::vector<std::uint8_t> breaks;        ///< 1 where reports before this one were left out

  std::size_t reports() const { return at.size(); }
};

/// A cell of text; digits behind a comma count where that is the decimal sign.
Cell cell_of(std::string_view text, char decimal);

/// What the cells of a slot have in common.
struct SlotFacts {
  std::size_t there = 0;       ///< reports that have it
  std::size_t numbers = 0;     ///< of these
  std::size_t whole = 0;       ///< of these
  std::size_t distinct = 0;    ///< different texts; stops counting at kMostDistinct
  double least = 0, most = 0;  ///< of the numbers
  double low = 0, high = 0;    ///< of the numbers, without the outermost tenths
  double middle = 0;           ///< median

  bool is_number() const { return numbers > 0 && 10 * numbers >= 9 * there; }
  bool varies() const { return distinct > 1; }
};
inline constexpr std::size_t kMostDistinct = 5000;

SlotFacts facts_of(const Slot& slot);

}  // namespace fieldfare::learn
