// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/length_chains.h"

#include <algorithm>
#include <map>
#include <optional>

namespace fieldfare::learn {
namespace {

constexpr std::int64_t kShortest = 6;  // shorter ones are found in anything
constexpr std::int64_t kLongest = 300;
constexpr std::size_t kMostLengths = 24;

std::vector<std::uint16_t> lengths_said(const fleet::Octets& octets,
                                        const fleet::LengthPrefix& prefix) {
  std::vector<std::uint16_t> out(octets.size(), 0);
  for (std::size_t at = 0; at < octets.size(); ++at) {
    const std::optional<std::int64_t> number = number_in(octets, at, prefix);
    if (!number) break;
    const std::int64_t length = *number + prefix.adds;
    if (length < kShortest || length > kLongest) continue;
    if (at + static_cast<std::size_t>(length) > octets.size()) continue;
    out[at] = static_cast<std::uint16_t>(length);
  }
  return out;
}

/// What octets from a place on are worth at best: a frame right behind another is
/// worth one, a frame that stands by itself less than nothing, so that false ones,
/// which seldom lead to others, aren't taken.
struct Worth {
  double behind_frame = 0;
  double by_itself = 0;
};
constexpr double kWorthByItself = -1.5;

void count_lengths(const std::vector<std::uint16_t>& said,
                   std::map<std::size_t, std::size_t>& counts) {
  std::vector<Worth> worth(said.size() + 1);
  worth.back().behind_frame = 0.5;
  for (std::size_t at = said.size(); at-- > 0;) {
    Worth& here = worth[at];
    here.by_itself = worth[at + 1].by_itself;
    here.behind_frame = here.by_itself;
    if (said[at] == 0) continue;
    const double behind = worth[at + said[at]].behind_frame;
    here.by_itself = std::max(here.by_itself, kWorthByItself + behind);
    here.behind_frame = std::max(here.by_itself, 1 + behind);
  }
  bool is_behind = false;
  for (std::size_t at = 0; at < said.size();) {
    const double skipped = worth[at + 1].by_itself;
    const double due = is_behind ? worth[at].behind_frame : worth[at].by_itself;
    is_behind = said[at] > 0 && due > skipped;
    if (is_behind) ++counts[said[at]];
    at += is_behind ? said[at] : 1;
  }
}

}  // namespace

std::optional<std::int64_t> number_in(const fleet::Octets& octets, std::size_t at,
                                      const fleet::LengthPrefix& prefix) {
  const auto width = static_cast<std::size_t>(prefix.octets);
  const std::size_t place = at + static_cast<std::size_t>(prefix.at);
  if (place + width > octets.size()) return std::nullopt;
  std::int64_t out = 0;
  for (std::size_t i = 0; i < width; ++i) {
    out = out << 8 | octets[place + (prefix.order == fleet::ByteOrder::big ? i : width - 1 - i)];
  }
  return out;
}

std::vector<std::size_t> chained_lengths(const Runs& runs, const fleet::LengthPrefix& prefix) {
  std::map<std::size_t, std::size_t> counts;
  for (const Run& run : runs.runs) {
    const std::vector<std::uint16_t> said = lengths_said(run.octets, prefix);
    count_lengths(said, counts);
  }
  std::size_t frames = 0;
  for (const auto& [length, count] : counts) frames += count;
  std::vector<std::pair<std::size_t, std::size_t>> order;
  for (const auto& [length, count] : counts) {
    if (count >= 2 && 20 * count >= frames) order.emplace_back(count, length);
  }
  std::stable_sort(order.begin(), order.end(),
                   [](const auto& a, const auto& b) { return a.first > b.first; });
  order.resize(std::min(order.size(), kMostLengths));
  std::vector<std::size_t> out;
  out.reserve(order.size());
  for (const auto& [count, length] : order) out.push_back(length);
  return out;
}

}  // namespace fieldfare::learn
