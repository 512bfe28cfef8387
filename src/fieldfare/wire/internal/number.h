// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

// Each row has several numbers: the bodies stand in this header so that they are
// inlined, and a plain pair comes back in place of an optional, which g++ 12
// writes to memory in parts and reads again as a whole. That stall took longer
// than the digits.

namespace fieldfare::wire {

/// How a number may be written.
enum class NumberGrammar : std::uint8_t {
  decimal,  ///< `-87.5`, `+3`, `.5`, `5.`, `1e-3`: what loggers put into CSV
  json      ///< RFC 8259 section 6: no plus, no bare point, no leading zeros
};

inline constexpr std::array<double, 23> kPowersOfTen = {
    1e0,  1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,  1e8,  1e9,  1e10, 1e11,
    1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
inline constexpr int kLargestExactPower = 22;
inline constexpr std::uint64_t kLargestExactDigits = std::uint64_t{1} << 53;
inline constexpr int kDigitsIn64Bits = 19;    // 10^19 - 1 fits
inline constexpr int kExponentCap = 100'000;  // far outside double, far inside int

inline unsigned digit_of(char c) { return static_cast<unsigned char>(c) - unsigned{'0'}; }

/// A number taken apart: value = digits * 10^exponent.
struct NumberParts {
  std::uint64_t digits = 0;
  int digit_count = 0;  ///< leading zeros included
  int exponent = 0;
  bool negative = false;
};

inline const char* take_digits(const char* at, const char* end, NumberParts& parts) {
  for (; at != end && digit_of(*at) <= 9; ++at) {
    parts.digits = parts.digits * 10 + digit_of(*at);  // wraps past 19 digits: then not used
    ++parts.digit_count;
  }
  return at;
}

/// Reads what follows `e`; nothing where that is no exponent.
inline const char* take_exponent(const char* at, const char* end, NumberParts& parts) {
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

inline bool json_whole_part(const char* first, const char* last) {
  return last != first && (last - first == 1 || *first != '0');
}

inline std::optional<NumberParts> take_number_apart(std::string_view text, NumberGrammar grammar) {
  const bool json = grammar == NumberGrammar::json;
  const char* at = text.data();
  const char* const end = at + text.size();
  NumberParts parts;
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

/// What a text says, where `ok`.
template <class Value>
struct Parsed {
  Value value{};
  bool ok = false;
};

/// The number by the library, for a text that is one.
Parsed<double> parse_number_slowly(std::string_view text);
Parsed<std::uint64_t> parse_long_counter(std::string_view text);

/// Reads a finite decimal number, correctly rounded; the whole text must be the
/// number. Nothing for `nan`, `inf`, hex, blanks, and for values that double
/// cannot hold.
///
/// Up to 2^53 in the digits and 22 in the power of ten both are exact in double,
/// so that one multiplication or division rounds once and thus correctly
/// (W. D. Clinger, How to read floating point numbers accurately, PLDI 1990,
/// from memory); std::from_chars reads the rest.
inline Parsed<double> parse_number(std::string_view text, NumberGrammar grammar) {
  const std::optional<NumberParts> parts = take_number_apart(text, grammar);
  if (!parts) return {};
  const int power = parts->exponent < 0 ? -parts->exponent : parts->exponent;
  if (parts->digit_count > kDigitsIn64Bits || parts->digits > kLargestExactDigits ||
      power > kLargestExactPower) {
    return parse_number_slowly(text);
  }
  const double digits = static_cast<double>(parts->digits);
  const double scale = kPowersOfTen[static_cast<std::size_t>(power)];
  const double size = parts->exponent < 0 ? digits / scale : digits * scale;
  return {parts->negative ? -size : size, true};
}

/// Reads an unsigned decimal number below 2^64; digits alone.
inline Parsed<std::uint64_t> parse_counter(std::string_view text) {
  if (text.empty()) return {};
  if (text.size() > kDigitsIn64Bits) return parse_long_counter(text);
  std::uint64_t value = 0;
  for (const char c : text) {
    if (digit_of(c) > 9) return {};
    value = value * 10 + digit_of(c);
  }
  return {value, true};
}

}  // namespace fieldfare::wire
