// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/learn/internal/slot_series.h"
#include "fieldfare/learn/internal/slots.h"
#include "fieldfare/learn/learn.h"

// Which slots are times, and whether they can be relied on.
namespace fieldfare::learn {

struct TimeSlot {
  std::size_t slot = 0;
  double scale_s = 1;         ///< of the number; 1 for text, too
  std::string kind;           ///< in words
  std::size_t backwards = 0;  ///< reports that are earlier than the one before
  Sureness sureness = Sureness::guess;
  std::string reason;
};

struct TimeSearch {
  std::optional<TimeSlot> best;
  std::vector<TimeSlot> disagreeing;  ///< numbers like times, but of clocks that disagree
  std::vector<std::size_t> unusable;  ///< text like a time, without a zone
};

/// A date, with a time of day or without, or a time of day alone.
bool looks_like_time(std::string_view text);

TimeSearch find_times(const SlotTable& table, const std::vector<bool>& taken,
                      const NodeNumbers& nodes);

}  // namespace fieldfare::learn
