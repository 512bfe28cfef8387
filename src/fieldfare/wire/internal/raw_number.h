// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>

namespace fieldfare::wire {

/// A number as sent, before scale and offset. Integers stay exact.
struct RawNumber {
  std::uint64_t integer = 0;  ///< two's complement where negative
  double real = 0;
  bool is_real = false;
  bool is_negative = false;  ///< of integers

  static RawNumber of_unsigned(std::uint64_t value) { return {value, 0, false, false}; }
  static RawNumber of_signed(std::int64_t value) {
    return {static_cast<std::uint64_t>(value), 0, false, value < 0};
  }
  static RawNumber of_real(double value) { return {0, value, true, false}; }

  double value() const {
    if (is_real) return real;
    // Conversion from signed is one instruction, from unsigned several.
    const auto as_signed = static_cast<std::int64_t>(integer);
    return as_signed >= 0 || is_negative ? static_cast<double>(as_signed)
                                         : static_cast<double>(integer);
  }
  bool equals(std::int64_t other) const {
    if (is_real) return real == static_cast<double>(other);
    return integer == static_cast<std::uint64_t>(other) && is_negative == (other < 0);
  }
};

}  // namespace fieldfare::wire
