// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/number.h"

#include <array>
#include <charconv>
#include <cmath>
#include <system_error>

namespace fieldfare::wire {
namespace {

constexpr std::array<double, 23> kPowersOfTen = {1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                                 1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                                 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
constexpr int kLargestExactPower = 22;
constexpr std::uint64_t kLargestExactDigits = std::uint64_t{1} << 53;
constexpr int kDigitsIn64Bits = 19;    // 10^19 - 1 fits
constexpr int kExponentCap = 100'000;  // far outside double, far inside int

unsigned digit_of(char c) { return static_cast<unsigned char>(c) - unsigned{'0'}; }

/// A number taken apart: value = digits * 10^exponent.
struct Parts {
  std::uint64_t digits = 0;
  int digit_count = 0;  ///< leading zeros included
  int exponent = 0;
  bool negative = false;
};

const char* take_digits(const char* at, const char* end, Parts& parts) {
  for (; at != end && digit_of(*at) <= 9; ++at) {
    parts.digits = parts.digits * 10 + digit_of(*at);  // wraps past 19 digits: then not used
    ++parts.digit_count;
  }
  return at;
}

/// Reads what follows `e`; nothing where that is no exponent.
const char* take_exponent(const char* at, const char* end, Parts& parts) {
  bool negative = false;
  if (at != end && (*at == '-' || *at == '+')) negative = *at++ == '-';
  if (at == end || digit_of(*at) > 9) return nullptr;
  int exponent = 0;
  for (; at != end && digit_of(*at) <= 9; ++at) {
    if (exponent < kExponentCap) exponent = exponent * 10 + static_cast<int>(digit_of(*at));
  }
  parts.exponent += negative ? -exponent : exponent;
  return at;
}

bool json_whole_part(const char* first, const char* last) {
  return last != first && (last - first == 1 || *first != '0');
}

std::optional<Parts> take_apart(std::string_view text, NumberGrammar grammar) {
  const bool json = grammar == NumberGrammar::json;
  const char* at = text.data();
  const char* const end = at + text.size();
  Parts parts;
  if (at != end && (*at == '-' || (*at == '+' && !json))) parts.negative = *at++ == '-';
  const char* const whole = at;
  at = take_digits(at, end, parts);
  if (json && !json_whole_part(whole, at)) return std::nullopt;
  if (at != end && *at == '.') {
    const char* const decimals = ++at;
    at = take_digits(at, end, parts);
    parts.exponent = -static_cast<int>(at - decimals);
    if (json && at == decimals) return std::nullopt;
  }
  if (parts.digit_count == 0) return std::nullopt;
  if (at != end && (*at == 'e' || *at == 'E')) {
    at = take_exponent(at + 1, end, parts);
    if (at == nullptr) return std::nullopt;
  }
  if (at != end) return std::nullopt;
  return parts;
}

std::optional<double> parse_slowly(std::string_view text) {
  if (text.front() == '+') text.remove_prefix(1);  // which from_chars does not take
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size() || !std::isfinite(value)) {
    return std::nullopt;
  }
  return value;
}

}  // namespace

std::optional<double> parse_number(std::string_view text, NumberGrammar grammar) {
  const std::optional<Parts> parts = take_apart(text, grammar);
  if (!parts) return std::nullopt;
  const int power = parts->exponent < 0 ? -parts->exponent : parts->exponent;
  if (parts->digit_count > kDigitsIn64Bits || parts->digits > kLargestExactDigits ||
      power > kLargestExactPower) {
    return parse_slowly(text);
  }
  const double digits = static_cast<double>(parts->digits);
  const double scale = kPowersOfTen[static_cast<std::size_t>(power)];
  const double size = parts->exponent < 0 ? digits / scale : digits * scale;
  return parts->negative ? -size : size;
}

std::optional<std::uint64_t> parse_counter(std::string_view text) {
  if (text.empty()) return std::nullopt;
  if (text.size() <= kDigitsIn64Bits) {
    std::uint64_t value = 0;
    for (const char c : text) {
      if (digit_of(c) > 9) return std::nullopt;
      value = value * 10 + digit_of(c);
    }
    return value;
  }
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return value;
}

}  // namespace fieldfare::wire
