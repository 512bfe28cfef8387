// SPDX-License-Identifier: Apache-2.0
// From a raw number to what an instrument beside the node says.
#include <algorithm>
#include <cmath>
#include <limits>
#include <string_view>

#include "fieldfare/learn/internal/readings.h"
#include "fieldfare/stats/robust.h"

namespace fieldfare::learn {
namespace {

struct UsualScale {
  double scale;
  double rarity_bits;  ///< how much rarer than a power of ten; a rule of thumb
};

constexpr UsualScale kUsualScales[] = {
    {1, 0},       {0.1, 0},        {0.01, 0},     {0.001, 0},    {0.0001, 1},    {1e-5, 2},
    {1e-6, 2},    {10, 2},         {100, 3},      {0.5, 1},      {0.25, 1.5},    {0.2, 1.5},
    {0.05, 1.5},  {0.025, 2.5},    {0.02, 1.5},   {0.005, 2},    {0.002, 2},     {0.0025, 3},
    {0.125, 1.5}, {1.0 / 16, 1.5}, {1.0 / 32, 2}, {1.0 / 64, 2}, {1.0 / 128, 2}, {1.0 / 256, 1.5},
};

struct UsualOffset {
  double offset;
  double rarity_bits;
};
// -40: what sensors' ranges begin at. -273.15: kelvin to degrees Celsius.
constexpr UsualOffset kUsualOffsets[] = {{0, 0}, {-40, 4}, {-273.15, 4}};

/// What a quantity can be at all; by the unit that its name ends in.
struct Bounds {
  std::string_view ending;
  double low;
  double high;
};
constexpr Bounds kBounds[] = {{"_c", -100, 250},   {"_pct", -1, 101}, {"_rh", -1, 101},
                              {"_hpa", 200, 1300}, {"_ppm", 0, 1e5},  {"_ph", 0, 14}};

bool can_be(std::string_view field, double value) {
  for (const Bounds& each : kBounds) {
    if (field.ends_with(each.ending)) return value >= each.low && value <= each.high;
  }
  return true;
}

/// Letters and digits alone, in capitals: how digits of labels are compared.
std::string plain_digits(std::string_view text) {
  std::string plain;
  for (const char each : text) {
    if (each >= 'a' && each <= 'z') plain += static_cast<char>(each - 'a' + 'A');
    if ((each >= 'A' && each <= 'Z') || (each >= '0' && each <= '9')) plain += each;
  }
  return plain;
}

/// A raw number that stood beside the instrument when it was read.
struct Pair {
  double raw;
  double value;
  double tolerance;
};

/// Raw numbers of a node about when the instrument was read: the nearest in time, or
/// what is in the middle of all.
std::optional<double> raw_beside(std::span<const Sampled> samples, std::size_t node,
                                 std::optional<Instant> at) {
  std::vector<double> all;
  std::optional<double> nearest;
  auto distance = std::numeric_limits<std::int64_t>::max();
  for (const Sampled& each : samples) {
    if (each.node != node) continue;
    all.push_back(each.value);
    if (!at || !each.at) continue;
    const std::int64_t apart = std::abs((*each.at - *at).ns);
    if (apart >= distance) continue;
    distance = apart;
    nearest = each.value;
  }
  if (nearest || all.empty()) return nearest;
  return stats::median(all);
}

struct Match {
  Pinned pinned;
  double merit_bits = -1;  ///< wonder less rarity
};

/// How well a conversion agrees with all pairs; nothing where it doesn't.
std::optional<Match> match(const std::vector<Pair>& pairs, const UsualScale& scale,
                           const UsualOffset& offset) {
  Match found;
  found.pinned = {scale.scale, offset.offset, 0, true, 0};
  for (const Pair& each : pairs) {
    const double room = each.tolerance + scale.scale / 2;
    const double misfit = std::fabs(each.raw * scale.scale + offset.offset - each.value);
    if (misfit > room) return std::nullopt;
    found.pinned.misfit = std::max(found.pinned.misfit, misfit);
    // A number of any size lies so near with about this probability.
    const double share = 2 * room / std::max(std::fabs(each.value - offset.offset), room);
    found.pinned.wonder_bits += std::max(0.0, -std::log2(share));
  }
  found.merit_bits = found.pinned.wonder_bits - scale.rarity_bits - offset.rarity_bits;
  return found;
}

std::optional<Match> usual_match(const std::vector<Pair>& pairs) {
  std::optional<Match> best;
  for (const UsualOffset& offset : kUsualOffsets) {
    for (const UsualScale& scale : kUsualScales) {
      const auto found = match(pairs, scale, offset);
      if (found && (!best || found->merit_bits > best->merit_bits)) best = found;
    }
    // Another offset counts only where none agrees without.
    if (best) break;
  }
  return best;
}

/// The straight line through pairs at different levels, where all lie near enough.
std::optional<Match> fitted_match(const std::vector<Pair>& pairs) {
  double raw_mean = 0;
  double value_mean = 0;
  for (const Pair& each : pairs) {
    raw_mean += each.raw / static_cast<double>(pairs.size());
    value_mean += each.value / static_cast<double>(pairs.size());
  }
  double square = 0;
  double product = 0;
  for (const Pair& each : pairs) {
    square += (each.raw - raw_mean) * (each.raw - raw_mean);
    product += (each.raw - raw_mean) * (each.value - value_mean);
  }
  if (square == 0 || product == 0) return std::nullopt;
  Match found;
  found.pinned.scale = product / square;
  found.pinned.offset = value_mean - found.pinned.scale * raw_mean;
  for (const Pair& each : pairs) {
    const double misfit =
        std::fabs(each.raw * found.pinned.scale + found.pinned.offset - each.value);
    if (misfit > each.tolerance + std::fabs(found.pinned.scale) / 2) return std::nullopt;
    found.pinned.misfit = std::max(found.pinned.misfit, misfit);
  }
  // Two points lie on some line whatever they are; only more are any wonder.
  constexpr double kEach = 5;
  found.pinned.wonder_bits = kEach * (static_cast<double>(pairs.size()) - 2);
  found.merit_bits = found.pinned.wonder_bits;
  return found;
}

std::optional<Match> best_match(const std::vector<Pair>& pairs) {
  if (pairs.empty()) return std::nullopt;
  if (auto usual = usual_match(pairs)) return usual;
  return pairs.size() > 1 ? fitted_match(pairs) : std::nullopt;
}

bool is_possible(std::span<const Sampled> samples, const Pinned& pinned, std::string_view field) {
  return std::all_of(samples.begin(), samples.end(), [&](const Sampled& each) {
    return can_be(field, each.value * pinned.scale + pinned.offset);
  });
}

/// Pairs of the values whose node is known by its digits. `stray` stands for the node of
/// the others.
std::vector<Pair> pairs_of(std::span<const Sampled> samples,
                           std::span<const InstrumentValue> values,
                           std::span<const std::string> node_labels,
                           std::optional<std::size_t> stray) {
  std::vector<Pair> pairs;
  for (const InstrumentValue& each : values) {
    std::optional<std::size_t> node = stray;
    if (!each.digits.empty()) {
      const std::string digits = plain_digits(each.digits);
      const auto label = std::find_if(
          node_labels.begin(), node_labels.end(),
          [&](const std::string& text) { return plain_digits(text).ends_with(digits); });
      if (label == node_labels.end()) continue;
      node = static_cast<std::size_t>(label - node_labels.begin());
    }
    if (!node) continue;
    const auto raw = raw_beside(samples, *node, each.at);
    if (raw) pairs.push_back({*raw, each.value, each.tolerance});
  }
  return pairs;
}

}  // namespace

std::optional<Pinned> pin(std::span<const Sampled> samples, std::span<const InstrumentValue> values,
                          std::span<const std::string> node_labels) {
  if (values.empty()) return std::nullopt;
  const bool has_strays = std::any_of(values.begin(), values.end(),
                                      [](const auto& each) { return each.digits.empty(); });
  std::vector<std::optional<std::size_t>> strays{std::nullopt};
  if (has_strays) {
    strays.clear();
    for (const Sampled& each : samples) {
      if (std::find(strays.begin(), strays.end(), each.node) == strays.end()) {
        strays.emplace_back(each.node);
      }
    }
  }
  std::optional<Match> best;
  for (const auto& stray : strays) {
    const auto found = best_match(pairs_of(samples, values, node_labels, stray));
    if (!found || !is_possible(samples, found->pinned, values.front().field)) continue;
    if (!best || found->merit_bits > best->merit_bits) best = found;
  }
  if (!best) return std::nullopt;
  // One of several nodes agrees the more easily, the more there are.
  best->pinned.wonder_bits =
      std::max(0.0, best->merit_bits - std::log2(static_cast<double>(strays.size())));
  return best->pinned;
}

}  // namespace fieldfare::learn
