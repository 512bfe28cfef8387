// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/judge/suffixes.h"

#include <algorithm>
#include <iterator>

namespace fieldfare::judge {
namespace {

std::string backwards(std::string_view text) {
  std::string result;
  result.reserve(text.size());
  std::transform(text.rbegin(), text.rend(), std::back_inserter(result), [](char c) {
    return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
  });
  return result;
}

}  // namespace

Suffixes::Suffixes(std::span<const FirstNode> nodes) {
  backwards_.reserve(nodes.size());
  for (std::size_t i = 0; i < nodes.size(); ++i) {
    backwards_.emplace_back(backwards(nodes[i].address), i);
  }
  std::sort(backwards_.begin(), backwards_.end());
}

Suffixes::Entries::const_iterator Suffixes::first_from(const std::string& text) const {
  return std::lower_bound(
      backwards_.begin(), backwards_.end(), text,
      [](const Entry& entry, const std::string& sought) { return entry.first < sought; });
}

std::vector<std::size_t> Suffixes::ending_in(std::string_view digits) const {
  std::vector<std::size_t> found;
  if (digits.empty()) return found;
  const std::string wanted = backwards(digits);
  for (auto entry = first_from(wanted);
       entry != backwards_.end() && entry->first.starts_with(wanted); ++entry) {
    found.push_back(entry->second);
  }
  for (std::size_t size = wanted.size() - 1; size >= kFewestWholeDigits && found.empty(); --size) {
    const std::string whole = wanted.substr(0, size);
    for (auto entry = first_from(whole); entry != backwards_.end() && entry->first == whole;
         ++entry) {
      found.push_back(entry->second);
    }
  }
  std::sort(found.begin(), found.end());
  return found;
}

}  // namespace fieldfare::judge
