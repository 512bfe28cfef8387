// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/report_series.h"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <map>

namespace fieldfare::learn {
namespace {

using fleet::ByteOrder;
using fleet::NumberForm;
using fleet::NumberKind;

std::uint8_t octet_of(const fleet::Octets& octets, std::size_t at, const NumberForm& form,
                      std::size_t significance) {
  const auto width = static_cast<std::size_t>(form.octets);
  return form.order == ByteOrder::little ? octets[at + significance]
                                         : octets[at + width - 1 - significance];
}

std::uint64_t joined(const fleet::Octets& octets, std::size_t at, const NumberForm& form) {
  std::uint64_t bits = 0;
  for (auto i = static_cast<std::size_t>(form.octets); i-- > 0;) {
    bits = bits << 8 | octet_of(octets, at, form, i);
  }
  return bits;
}

std::optional<double> bcd(std::uint64_t bits, int octets) {
  double value = 0;
  for (int digit = 2 * octets; digit-- > 0;) {
    const auto nibble = bits >> (4 * digit) & 0xFU;
    if (nibble > 9) return std::nullopt;
    value = value * 10 + static_cast<double>(nibble);
  }
  return value;
}

std::optional<double> real(std::uint64_t bits) {
  constexpr double kLargest = 1e9;
  constexpr double kSmallest = 1e-6;
  float value = 0;
  const auto half = static_cast<std::uint32_t>(bits);
  std::memcpy(&value, &half, sizeof value);
  const double size = std::fabs(static_cast<double>(value));
  if (!std::isfinite(value) || size > kLargest || (size < kSmallest && half << 1 != 0)) {
    return std::nullopt;
  }
  return value;
}

/// Earlier reports first, by their order or, where that isn't known of all, by the
/// time they came. Where neither is, they keep the order they are in.
void sort_by_time(std::vector<const Framed*>& reports) {
  const auto all_have = [&](auto key) {
    return std::all_of(reports.begin(), reports.end(),
                       [&](const Framed* each) { return (each->*key).has_value(); });
  };
  const auto sort_by = [&](auto key) {
    std::stable_sort(reports.begin(), reports.end(),
                     [&](const Framed* a, const Framed* b) { return *(a->*key) < *(b->*key); });
  };
  if (all_have(&Framed::order)) {
    sort_by(&Framed::order);
  } else if (all_have(&Framed::at)) {
    sort_by(&Framed::at);
  }
}

}  // namespace

std::optional<double> raw_number(const fleet::Octets& octets, std::size_t at,
                                 const NumberForm& form) {
  const auto width = static_cast<std::size_t>(form.octets);
  if (at + width > octets.size()) return std::nullopt;
  const std::uint64_t bits = joined(octets, at, form);
  switch (form.kind) {
    case NumberKind::unsigned_integer:
      return static_cast<double>(bits);
    case NumberKind::signed_integer: {
      const int unused = 64 - 8 * form.octets;
      return static_cast<double>(static_cast<std::int64_t>(bits << unused) >> unused);
    }
    case NumberKind::bcd:
      return bcd(bits, form.octets);
    case NumberKind::real:
      return form.octets == 4 ? real(bits) : std::nullopt;
  }
  return std::nullopt;
}

ReportSeries::ReportSeries(std::span<const Framed> frames) {
  std::map<std::size_t, std::vector<const Framed*>> by_node;
  for (const Framed& each : frames) by_node[each.node].push_back(&each);
  for (auto& [node, reports] : by_node) {
    sort_by_time(reports);
    const auto copies =
        std::unique(reports.begin(), reports.end(), [](const Framed* a, const Framed* b) {
          return a->order && a->order == b->order && a->octets == b->octets;
        });
    reports.erase(copies, reports.end());
    frames_ += reports.size();
    nodes_.push_back(std::move(reports));
  }
  if (!frames.empty()) octets_ = frames.front().octets.size();
}

}  // namespace fieldfare::learn
