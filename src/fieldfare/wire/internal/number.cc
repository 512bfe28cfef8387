// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/number.h"

#include <charconv>
#include <cmath>
#include <system_error>

namespace fieldfare::wire {

Parsed<double> parse_number_slowly(std::string_view text) {
  if (text.front() == '+') text.remove_prefix(1);  // which from_chars does not take
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(value)) {
    return {};
  }
  return {value, true};
}

Parsed<std::uint64_t> parse_long_counter(std::string_view text) {
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size()) return {};
  return {value, true};
}

}  // namespace fieldfare::wire
