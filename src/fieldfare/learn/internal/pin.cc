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

/// What a quantity can be at all, and what a node that measures it must be able to send
/// (common practice); by the unit that its name ends in.
struct Quantity {
  std::string_view ending;
  double least;
  double most;
  double usual_low;
  double usual_high;
};
constexpr Quantity kQuantities[] = {
    {"_c", -100, 250, -10, 50},     {"_pct", -1, 101, 0, 100},         {"_rh", -1, 101, 0, 100},
    {"_hpa", 200, 1300, 900, 1050}, {"_ppm", 0, 1e5, 400, 2000},       {"_ph", 0, 14, 4, 10},
    {"supply_v", 0, 60, 2.0, 3.3},  {"supply_mv", 0, 6e4, 2000, 3300},
};

const Quantity* quantity_of(std::string_view field) {
  for (const Quantity& each : kQuantities) {
    if (field.ends_with(each.ending)) return &each;
  }
  return nullptr;
}

bool can_be(std::string_view field, double value) {
  const Quantity* quantity = quantity_of(field);
  return !quantity || (value >= quantity->least && value <= quantity->most);
}

/// How much rarer a conversion is with which a number can't say what it must.
double narrowness_bits(std::string_view field, const RawRange& range, double scale, double offset) {
  constexpr double kEach = 3;
  const Quantity* quantity = quantity_of(field);
  if (!quantity) return 0;
  double bits = 0;
  if (range.low * scale + offset > quantity->usual_low) bits += kEach;
  if (range.high * scale + offset < quantity->usual_high) bits += kEach;
  return bits;
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

/// Raw numbers that a node sent about when the instrument beside it was read, the nearest
/// in time first.
struct Pair {
  std::vector<double> raws;
  double value;
  double tolerance;

  double misfit(double scale, double offset) const {
    double least = std::numeric_limits<double>::infinity();
    for (const double raw : raws) {
      least = std::min(least, std::fabs(raw * scale + offset - value));
    }
    return least;
  }
};

/// Raw numbers of a node about when the instrument was read: of the nearest report, and of
/// others a few seconds farther off, since nobody reads it to the second; or what is in
/// the middle of all.
std::vector<double> raws_beside(std::span<const Sampled> samples, std::size_t node,
                                std::optional<Instant> at) {
  constexpr std::int64_t kLeewayNs = 3'000'000'000;
  std::vector<double> all;
  std::vector<std::pair<std::int64_t, double>> timed;
  for (const Sampled& each : samples) {
    if (each.node != node) continue;
    all.push_back(each.value);
    if (at && each.at) timed.emplace_back(std::abs((*each.at - *at).ns), each.value);
  }
  if (all.empty()) return {};
  if (timed.empty()) return {stats::median(all)};
  std::stable_sort(timed.begin(), timed.end(),
                   [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<double> raws;
  for (const auto& [apart, value] : timed) {
    if (apart - timed.front().first <= kLeewayNs) raws.push_back(value);
  }
  return raws;
}

struct Match {
  Pinned pinned;
  double merit_bits = -1;  ///< wonder less rarity
};

/// What is to agree: the quantity, and what the number could be.
struct Sought {
  std::string_view field;
  RawRange range;
};

/// How well a conversion agrees with all pairs; nothing where it doesn't.
std::optional<Match> match(const std::vector<Pair>& pairs, const Sought& sought,
                           const UsualScale& scale, const UsualOffset& offset) {
  Match found;
  found.pinned = {scale.scale, offset.offset, 0, true, 0};
  for (const Pair& each : pairs) {
    const double room = each.tolerance + scale.scale / 2;
    const double misfit = each.misfit(scale.scale, offset.offset);
    if (misfit > room) return std::nullopt;
    found.pinned.misfit = std::max(found.pinned.misfit, misfit);
    // A number of any size lies so near with about this probability.
    const double share = static_cast<double>(each.raws.size()) * 2 * room /
                         std::max(std::fabs(each.value - offset.offset), room);
    found.pinned.wonder_bits += std::max(0.0, -std::log2(share));
  }
  found.merit_bits = found.pinned.wonder_bits - scale.rarity_bits - offset.rarity_bits -
                     narrowness_bits(sought.field, sought.range, scale.scale, offset.offset);
  return found;
}

std::optional<Match> usual_match(const std::vector<Pair>& pairs, const Sought& sought) {
  std::optional<Match> best;
  for (const UsualOffset& offset : kUsualOffsets) {
    for (const UsualScale& scale : kUsualScales) {
      const auto found = match(pairs, sought, scale, offset);
      if (found && (!best || found->merit_bits > best->merit_bits)) best = found;
    }
  }
  return best;
}

/// The straight line through pairs at different levels, where all lie near enough.
std::optional<Match> fitted_match(const std::vector<Pair>& pairs) {
  double raw_mean = 0;
  double value_mean = 0;
  for (const Pair& each : pairs) {
    raw_mean += each.raws.front() / static_cast<double>(pairs.size());
    value_mean += each.value / static_cast<double>(pairs.size());
  }
  double square = 0;
  double product = 0;
  for (const Pair& each : pairs) {
    const double raw = each.raws.front() - raw_mean;
    square += raw * raw;
    product += raw * (each.value - value_mean);
  }
  if (square == 0 || product == 0) return std::nullopt;
  Match found;
  found.pinned.scale = product / square;
  found.pinned.offset = value_mean - found.pinned.scale * raw_mean;
  for (const Pair& each : pairs) {
    const double misfit = each.misfit(found.pinned.scale, found.pinned.offset);
    if (misfit > each.tolerance + std::fabs(found.pinned.scale) / 2) return std::nullopt;
    found.pinned.misfit = std::max(found.pinned.misfit, misfit);
  }
  // Two points lie on some line whatever they are; only more are any wonder.
  constexpr double kEach = 5;
  found.pinned.wonder_bits = kEach * (static_cast<double>(pairs.size()) - 2);
  found.merit_bits = found.pinned.wonder_bits;
  return found;
}

std::optional<Match> best_match(const std::vector<Pair>& pairs, const Sought& sought) {
  if (pairs.empty()) return std::nullopt;
  if (auto usual = usual_match(pairs, sought)) return usual;
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
      // What is known of an address may be less than somebody read from the label.
      const auto label =
          std::find_if(node_labels.begin(), node_labels.end(), [&](const std::string& text) {
            const std::string known = plain_digits(text);
            return known.ends_with(digits) || (!known.empty() && digits.ends_with(known));
          });
      if (label == node_labels.end()) continue;
      node = static_cast<std::size_t>(label - node_labels.begin());
    }
    if (!node) continue;
    auto raws = raws_beside(samples, *node, each.at);
    if (!raws.empty()) pairs.push_back({std::move(raws), each.value, each.tolerance});
  }
  return pairs;
}

}  // namespace

std::optional<Pinned> pin(std::span<const Sampled> samples, std::span<const InstrumentValue> values,
                          std::span<const std::string> node_labels, const RawRange& range) {
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
    const auto found =
        best_match(pairs_of(samples, values, node_labels, stray), {values.front().field, range});
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
