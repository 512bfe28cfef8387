// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/nearest.h"

#include <algorithm>
#include <string>
#include <vector>

namespace fieldfare {
namespace {

// The look-up costs the product of the lengths, and what is unknown may come
// from a hostile file.
constexpr std::size_t kLongestWorthComparing = 64;

std::string plain(std::string_view name) {
  std::string out{name};
  for (char& c : out) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    if (c == '-') c = '_';
  }
  return out;
}

}  // namespace

std::size_t edit_distance(std::string_view a, std::string_view b) {
  // Rows of the table of distances between beginnings: of a[0..i) to b[0..j).
  std::vector<std::size_t> two_before(b.size() + 1), before(b.size() + 1), row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) row[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::swap(two_before, before);
    std::swap(before, row);
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t replaced = before[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({before[j] + 1, row[j - 1] + 1, replaced});
      const bool swapped = i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1];
      if (swapped) row[j] = std::min(row[j], two_before[j - 2] + 1);
    }
  }
  return row[b.size()];
}

std::optional<std::string_view> nearest_name(std::string_view unknown,
                                             std::span<const std::string_view> known) {
  if (unknown.empty() || unknown.size() > kLongestWorthComparing) return std::nullopt;
  const std::string meant = plain(unknown);
  std::optional<std::string_view> nearest;
  std::size_t least = 0;
  for (const std::string_view name : known) {
    const std::size_t distance = edit_distance(meant, plain(name));
    if (3 * distance > std::max(unknown.size(), name.size())) continue;
    if (!nearest || distance < least) {
      nearest = name;
      least = distance;
    }
  }
  return nearest;
}

}  // namespace fieldfare
