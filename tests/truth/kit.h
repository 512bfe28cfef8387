// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <cstddef>
#include <utility>
#include <vector>

#include "dice.h"

/// What may be done to a log without changing what was heard. The functions
/// take rows of any copyable kind, so that tests of a reader, of evidence and of
/// the whole program can use the same ones.
namespace fieldfare::truth {

/// Any order at all (Fisher and Yates).
template <class T>
std::vector<T> shuffled(std::vector<T> rows, Dice& dice) {
  for (std::size_t i = rows.size(); i > 1; --i) std::swap(rows[i - 1], rows[dice.below(i)]);
  return rows;
}

/// Displaces rows by fewer than `window` rows; window > 0.
template <class T>
std::vector<T> shuffled_within(const std::vector<T>& rows, std::size_t window, Dice& dice) {
  std::vector<std::pair<double, std::size_t>> places;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    places.emplace_back(static_cast<double>(i) + dice.uniform(0, static_cast<double>(window)), i);
  }
  std::ranges::sort(places);
  std::vector<T> result;
  result.reserve(rows.size());
  for (const auto& [place, i] : places) result.push_back(rows[i]);
  return result;
}

/// Deals the rows out to `files` logs by lot, each keeping their order; some may
/// stay empty.
template <class T>
std::vector<std::vector<T>> dealt(const std::vector<T>& rows, std::size_t files, Dice& dice) {
  std::vector<std::vector<T>> result(files);
  for (const T& row : rows) result[dice.below(files)].push_back(row);
  return result;
}

/// Cuts the log at random rows into `pieces` that follow each other; some may be
/// empty.
template <class T>
std::vector<std::vector<T>> cut(const std::vector<T>& rows, std::size_t pieces, Dice& dice) {
  std::vector<std::size_t> ends;
  for (std::size_t i = 1; i < pieces; ++i) ends.push_back(dice.below(rows.size() + 1));
  ends.push_back(rows.size());
  std::ranges::sort(ends);
  std::vector<std::vector<T>> result;
  std::size_t begin = 0;
  for (const std::size_t end : ends) {
    result.emplace_back(rows.begin() + static_cast<std::ptrdiff_t>(begin),
                        rows.begin() + static_cast<std::ptrdiff_t>(end));
    begin = end;
  }
  return result;
}

/// Repeats a `share` of the rows exactly as they are, at any later place.
template <class T>
std::vector<T> duplicated(const std::vector<T>& rows, double share, Dice& dice) {
  std::vector<std::pair<std::size_t, std::size_t>> places;  // before which row, which row
  for (std::size_t i = 0; i < rows.size(); ++i) {
    places.emplace_back(i, i);
    if (dice.chance(share)) places.emplace_back(i + dice.below(rows.size() - i), i);
  }
  std::ranges::stable_sort(places, {}, [](const auto& p) { return p.first; });
  std::vector<T> result;
  result.reserve(places.size());
  for (const auto& [place, i] : places) result.push_back(rows[i]);
  return result;
}

}  // namespace fieldfare::truth
