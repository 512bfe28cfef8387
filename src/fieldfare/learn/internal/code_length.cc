// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/code_length.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <vector>

namespace fieldfare::learn {
namespace {

constexpr double kBitsOfStretch = 6;       // to say how long a loss is, or a frame of a rare length
constexpr double kBitsOfLength = 8;        // to say that a length is a usual one
constexpr std::size_t kLeastOfLength = 3;  // fewer frames teach no column anything

using Group = std::vector<const fleet::Octets*>;

double column_bits(const Group& group, std::size_t place) {
  std::array<unsigned, 256> seen{};
  double bits = 0;
  double coded = 0;
  double kinds = 0;
  for (const fleet::Octets* const octets : group) {
    if (octets->size() <= place) continue;
    unsigned& count = seen[(*octets)[place]];
    const double all = coded + kinds;
    if (count == 0) {
      bits += 8 + (coded == 0 ? 0 : std::log2(all / kinds));
      ++kinds;
    } else {
      bits += std::log2(all / count);
    }
    ++count;
    ++coded;
  }
  return std::min(bits, 8 * coded + 1);
}

/// True where the framing says what stands there.
bool is_said(const fleet::FrameFacts& facts, std::size_t place) {
  if (place < facts.start.size()) return true;
  if (!facts.prefix) return false;
  const auto at = static_cast<std::size_t>(facts.prefix->at);
  return place >= at && place < at + static_cast<std::size_t>(facts.prefix->octets);
}

double columns_bits(const Group& group, const fleet::FrameFacts& facts) {
  std::size_t longest = 0;
  for (const fleet::Octets* const octets : group) longest = std::max(longest, octets->size());
  double bits = 0;
  for (std::size_t place = 0; place < longest; ++place) {
    if (!is_said(facts, place)) bits += column_bits(group, place);
  }
  return bits;
}

}  // namespace

double code_length_bits(const Cut& cut, const fleet::FrameFacts& facts) {
  std::map<std::size_t, Group> by_length;
  for (const CutFrame& frame : cut.frames) by_length[frame.octets.size()].push_back(&frame.octets);
  double bits = 8 * static_cast<double>(cut.lost) +
                kBitsOfStretch * static_cast<double>(cut.stretches) +
                8 * static_cast<double>(facts.start.size() + facts.end.size());
  const auto all = static_cast<double>(cut.frames.size());
  Group usual;
  for (const auto& [length, group] : by_length) {
    const auto count = static_cast<double>(group.size());
    if (group.size() < kLeastOfLength) {
      bits += count * (8 * static_cast<double>(length) + kBitsOfStretch);
    } else {
      bits += kBitsOfLength + (facts.length ? 0 : count * std::log2(all / count));
      usual.insert(usual.end(), group.begin(), group.end());
    }
  }
  bits += columns_bits(usual, facts);
  return bits;
}

// The log likelihood ratio of two rates: that of frames and that of octets.
double bits_of_arrivals(const Cut& cut, std::size_t arrivals, std::size_t octets) {
  const auto frames = static_cast<double>(cut.frames.size());
  const auto leading = static_cast<double>(std::count_if(
      cut.frames.begin(), cut.frames.end(), [](const CutFrame& frame) { return frame.leads; }));
  const double by_chance = static_cast<double>(arrivals) / static_cast<double>(octets);
  if (leading <= frames * by_chance || by_chance >= 1) return 0;
  const double rate = leading / frames;
  double bits = leading * std::log2(rate / by_chance);
  if (leading < frames) bits += (frames - leading) * std::log2((1 - rate) / (1 - by_chance));
  return bits;
}

}  // namespace fieldfare::learn
