// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "fieldfare/base/complaint.h"
#include "fieldfare/base/instant.h"
#include "fieldfare/base/result.h"

namespace fieldfare::site {

/// Line and column of something in a text, from 1; 0 where there is no place.
struct Spot {
  std::size_t line = 0;
  std::size_t column = 0;

  auto operator<=>(const Spot&) const = default;
};

struct Value;
struct Entry;
using List = std::vector<Value>;
using Table = std::vector<Entry>;  ///< in the order of the file

/// A TOML value that no file of ours uses: a time of day, or a date-time of no place on
/// earth or outside the range of Instant.
struct TimeOfDay {};

/// One TOML value with the place where it stands.
struct Value {
  std::variant<std::string, std::int64_t, double, bool, std::chrono::year_month_day, Instant,
               TimeOfDay, List, Table>
      data;
  Spot spot;
};

struct Entry {
  std::string key;
  Spot spot;
  Value value;
};

/// Parses TOML 1.0. The library behind it is seen by tree.cc alone.
///
/// Bounded whatever the text is: more than kMostBytes, keys of more than
/// kMostKeyParts dotted parts and values nested deeper than kDeepest are
/// refused, so that neither memory nor stack grows with hostile input.
inline constexpr std::size_t kMostBytes = std::size_t{1} << 20U;
inline constexpr std::size_t kMostKeyParts = 8;
inline constexpr std::size_t kDeepest = 32;

Result<Table, Complaint> parse_tree(std::string_view text, const std::string& file);

/// The entry of that key, or nullptr.
const Entry* find_entry(const Table& table, std::string_view key);

}  // namespace fieldfare::site
