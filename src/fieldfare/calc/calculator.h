// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

#include "fieldfare/base/result.h"

// Single computations by name, each with its keys, its ranges and its source.
namespace fieldfare::calc {

/// Where a number may lie. A limit that isn't inside is itself excluded.
struct Bounds {
  double low = -std::numeric_limits<double>::infinity();
  double high = std::numeric_limits<double>::infinity();
  bool low_inside = true;
  bool high_inside = true;

  bool hold(double value) const {
    return (low_inside ? value >= low : value > low) &&
           (high_inside ? value <= high : value < high);
  }
  /// `from 0 to 1`, `above 0`, `any`.
  std::string text() const;
};

enum class KeyKind : std::uint8_t {
  number,
  whole,      ///< a whole number
  series,     ///< numbers separated by commas
  choice,     ///< one of a few words, capitals or not
  octets,     ///< pairs of hex digits, with blanks or colons between them or not
  addresses,  ///< node addresses separated by commas
  file,       ///< path of a file
};

struct Key {
  std::string_view name;  ///< ends in its unit where it has one
  KeyKind kind;
  std::string_view meaning;
  Bounds bounds{};                             ///< of a number, or of each number of a series
  std::size_t least_count = 1;                 ///< of a series or of addresses
  std::vector<std::string_view> choices{};     ///< of a choice
  std::optional<std::string_view> fallback{};  ///< taken where the key isn't given
  bool may_lack = false;                       ///< neither given nor defaulted is fine
};

/// Longer series are refused.
inline constexpr std::size_t kLongestSeries = 100'000;

struct Calculator {
  std::string_view name;
  std::string_view summary;
  std::vector<Key> keys;
  std::string_view source;
  std::string_view example;  ///< arguments, as typed
};

/// What a key or a result holds; std::monostate says that there is none.
using Value = std::variant<std::monostate, double, bool, std::string, std::vector<double>>;

/// Names and values in the order in which they are shown.
using Fields = std::vector<std::pair<std::string, Value>>;

struct Answer {
  std::string name;
  Fields inputs;  ///< with defaults filled in
  Fields result;  ///< numbers are finite
  std::string source;
  std::vector<std::string> notes;  ///< what to know before relying on the result
};

/// All calculators, by theme.
std::span<const Calculator> list();

/// The calculator of that name; null where there is none.
const Calculator* find(std::string_view name);

/// Works the calculator `name` with arguments of the form `key=value`. The error
/// is a sentence that names what is unknown, missing or out of range, with the
/// nearest known name where there is one.
Result<Answer, std::string> calculate(std::string_view name,
                                      std::span<const std::string> arguments);

/// `{"calc": ..., "inputs": {...}, "result": {...}, "source": "...", "notes": [...]}`,
/// numbers as their shortest text that reads back.
std::string to_json(const Answer& answer);

/// A few lines for people, numbers rounded to seven digits, ending in a line feed.
std::string to_text(const Answer& answer);

}  // namespace fieldfare::calc
