// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/grams.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <unordered_map>

namespace fieldfare::learn {
namespace {

constexpr std::size_t kLeastOften = 4;
constexpr double kAboveChance = 3;

fleet::Octets octets_of_key(std::uint32_t key, std::size_t width) {
  fleet::Octets out(width);
  for (std::size_t i = 0; i < width; ++i) {
    out[i] = static_cast<std::uint8_t>(key >> 8 * (width - 1 - i));
  }
  return out;
}

}  // namespace

std::vector<Gram> frequent_grams(const Runs& runs, std::size_t width, std::size_t most) {
  std::unordered_map<std::uint32_t, std::size_t> counts;
  const std::uint32_t mask = width < 4 ? (std::uint32_t{1} << 8 * width) - 1 : 0xFFFF'FFFFU;
  for (const Run& run : runs.runs) {
    std::uint32_t key = 0;
    for (std::size_t i = 0; i < run.octets.size(); ++i) {
      key = (key << 8 | run.octets[i]) & mask;
      if (i + 1 >= width) ++counts[key];
    }
  }
  const double by_chance =
      static_cast<double>(runs.octets()) * std::pow(256.0, -static_cast<double>(width));
  std::vector<std::pair<std::size_t, std::uint32_t>> order;
  for (const auto& [key, count] : counts) {
    if (count >= kLeastOften && static_cast<double>(count) >= kAboveChance * by_chance) {
      order.emplace_back(count, key);
    }
  }
  std::sort(order.begin(), order.end(), [](const auto& a, const auto& b) {
    return a.first != b.first ? a.first > b.first : a.second < b.second;
  });
  order.resize(std::min(order.size(), most));
  std::vector<Gram> out;
  out.reserve(order.size());
  for (const auto& [count, key] : order) out.push_back({octets_of_key(key, width), count});
  return out;
}

std::vector<Spacing> spacings(const Runs& runs, const fleet::Octets& gram) {
  std::vector<Spacing> out;
  for (std::size_t run = 0; run < runs.runs.size(); ++run) {
    const fleet::Octets& octets = runs.runs[run].octets;
    std::optional<std::size_t> before;
    auto from = octets.begin();
    while (true) {
      const auto hit = std::search(from, octets.end(), gram.begin(), gram.end());
      if (hit == octets.end()) break;
      const auto at = static_cast<std::size_t>(hit - octets.begin());
      if (before) out.push_back({run, *before, at - *before});
      before = at;
      from = hit + static_cast<std::ptrdiff_t>(gram.size());
    }
  }
  return out;
}

}  // namespace fieldfare::learn
