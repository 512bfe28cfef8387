// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "fieldfare/base/random.h"
#include "fieldfare/evidence/entry.h"
#include "fieldfare/evidence/node_evidence.h"

namespace fieldfare::evidence {

inline constexpr std::int64_t kSecond_ns = 1'000'000'000;
inline constexpr std::int64_t kMinute_ns = 60 * kSecond_ns;

/// A row with a counter, heard `time_ns` after some moment.
inline Entry numbered(std::int64_t time_ns, std::uint32_t sequence, std::uint16_t receiver = 0) {
  return {.time_ns = time_ns,
          .sequence = sequence,
          .receiver_hash = receiver,
          .receiver = receiver,
          .has = Entry::kSequence};
}

/// Any order at all (Fisher and Yates).
template <class T>
std::vector<T> shuffled(std::vector<T> rows, RandomStream& random) {
  for (std::size_t i = rows.size(); i > 1; --i) std::swap(rows[i - 1], rows[random.below(i)]);
  return rows;
}

/// Everything a node's evidence says, to the last bit, for comparing.
std::string told(const NodeEvidence& node);
std::string told(const FleetEvidence& fleet);

}  // namespace fieldfare::evidence
