// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <optional>

// The number of a network as a reading. Exact up to 2^53, beyond that the nearest
// double that is still a number of 64 bits.
namespace fieldfare::wire {

inline constexpr double kLargestNetwork = 0x1.fffffffffffffp63;  ///< below 2^64

inline double network_value(std::uint64_t number) {
  return std::min(static_cast<double>(number), kLargestNetwork);
}

/// The inverse; nothing for what is no whole number of 64 bits.
inline std::optional<std::uint64_t> network_number(double value) {
  const bool is_in_range = value >= 0 && value <= kLargestNetwork;  // what is no number isn't
  if (!is_in_range || value != std::floor(value)) return std::nullopt;
  return static_cast<std::uint64_t>(value);
}

}  // namespace fieldfare::wire
