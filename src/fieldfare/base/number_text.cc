// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/number_text.h"

#include <array>
#include <charconv>
#include <cmath>

namespace fieldfare {

std::string number_text(double value) {
  std::array<char, 32> text{};  // the longest, -2.2250738585072014e-308, has 24
  const auto written = std::to_chars(text.data(), text.data() + text.size(), value);
  return {text.data(), written.ptr};
}

std::optional<double> parse_number(std::string_view text) {
  if (text.starts_with('+')) {
    text.remove_prefix(1);
    if (text.starts_with('-')) return std::nullopt;
  }
  double value = 0;
  const char* const end = text.data() + text.size();
  const auto [after, fault] = std::from_chars(text.data(), end, value);
  if (fault != std::errc{} || after != end || !std::isfinite(value)) return std::nullopt;
  return value;
}

double half_of_last_digit(std::string_view number) {
  const std::size_t exponent = number.find_first_of("eE");
  const std::string_view mantissa = number.substr(0, exponent);
  int power = 0;
  if (exponent != std::string_view::npos) {
    power = static_cast<int>(parse_number(number.substr(exponent + 1)).value_or(0));
  }
  const std::size_t point = mantissa.find('.');
  if (point != std::string_view::npos) power -= static_cast<int>(mantissa.size() - point - 1);
  return 0.5 * std::pow(10.0, power);
}

}  // namespace fieldfare
