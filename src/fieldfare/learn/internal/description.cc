// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/description.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <vector>

#include "fieldfare/fleet/sheet.h"

namespace fieldfare::learn {
namespace {

using fleet::NumberForm;
using fleet::NumberKind;

// What it takes to say what a field is, in bits.
constexpr double kNamingConstant = 3;
constexpr double kNamingNodeConstant = 6;
constexpr double kNamingNoise = 6;
constexpr double kFitting = 3;  // the width of the differences

double naming_bits(const NumberForm& form) {
  constexpr double kWidths[] = {2, 1.5, 3, 2.2};
  double bits = kWidths[form.octets - 1];
  if (form.kind == NumberKind::signed_integer) bits += 1;
  if (form.kind == NumberKind::bcd) bits += 8;
  if (form.kind == NumberKind::real) bits += 8;
  return bits;
}

/// Bits of whole differences whose widths are fitted; the better one of two shapes.
double spread_bits(const std::vector<double>& differences) {
  double sum = 0;
  double squares = 0;
  for (const double each : differences) {
    sum += std::fabs(each);
    squares += each * each;
  }
  if (sum == 0) return 0;
  const auto count = static_cast<double>(differences.size());
  // Two-sided geometric: P(d) = (1 - t) / (1 + t) t^|d|, with mean |d| = 2 t / (1 - t^2).
  const double mean = sum / count;
  const double t = (std::sqrt(1 + mean * mean) - 1) / mean;
  const double geometric = count * std::log2((1 + t) / (1 - t)) - sum * std::log2(t);
  // Normal, rounded: the variance of rounding keeps narrow ones from costing nothing.
  const double variance = squares / count + 1.0 / 12;
  const double normal = count * 0.5 * std::log2(2 * std::numbers::pi * std::numbers::e * variance);
  return 1 + std::min(geometric, mean < 1 ? geometric : normal);
}

/// Bits of a level that isn't known: partly all values are believed equally likely,
/// partly, and the more the wider the number is, small ones likelier.
double level_bits(double value, int octets, bool has_sign) {
  constexpr double kAllAlike[] = {0.5, 0.25, 0.1, 0.05};
  const double alike = kAllAlike[octets - 1];
  const double width = 8.0 * octets;
  const double magnitude = std::floor(std::log2(std::fabs(value) + 1));
  const double small = std::exp2(-magnitude - (has_sign ? 1 : 0)) / (width + 1);
  return -std::log2(alike * std::exp2(-width) + (1 - alike) * small);
}

/// Bits of how unusual it is for a number of this width to move so far from one report
/// to the next; else noise behind a number would pass for its low octets.
double haste_bits(double mean_step, int octets) {
  constexpr double kEachDoubling = 0.5;
  const double usual = 4.0 + 3.0 * (octets - 1);
  return kEachDoubling * std::max(0.0, std::log2(mean_step + 1) - usual);
}

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

/// A number's values, node by node, in the order of reports.
using Values = std::vector<std::vector<double>>;

/// A real number as the whole number that its bits are: as smooth as itself.
double bits_of_real(const fleet::Octets& octets, std::size_t at, NumberForm form) {
  form.kind = NumberKind::unsigned_integer;
  const double bits = raw_number(octets, at, form).value_or(0);
  constexpr double kSignBit = 2147483648.0;
  return bits < kSignBit ? bits : kSignBit - bits;
}

std::optional<Values> values_of(const ReportSeries& series, std::size_t at,
                                const NumberForm& form) {
  Values values;
  for (const auto& reports : series.nodes()) {
    auto& row = values.emplace_back();
    row.reserve(reports.size());
    for (const Framed* each : reports) {
      const auto raw = raw_number(each->octets, at, form);
      if (!raw) return std::nullopt;
      row.push_back(form.kind == NumberKind::real ? bits_of_real(each->octets, at, form) : *raw);
    }
  }
  return values;
}

/// Whether a real number is what becomes of one with three decimals, or, sent by
/// hardware, of a whole number times a power of two: chance makes one in a thousand.
bool is_round(double value) {
  const double precision = std::fabs(value) * 1.2e-7;  // of a float, 2^-23
  const double thousands = std::round(value * 1000) / 1000;
  if (std::fabs(value - thousands) <= precision && precision < 1e-5) return true;
  const double fractions = std::round(value * 1024) / 1024;
  return value == fractions && precision < 1e-5;
}

/// What speaks for real numbers beyond their smoothness, which their bits as whole
/// numbers have as well.
double round_reals_bits(const ReportSeries& series, std::size_t at, const NumberForm& form) {
  constexpr double kEach = 5;
  constexpr double kMost = 60;
  double bits = 0;
  for (const auto& reports : series.nodes()) {
    for (const Framed* each : reports) {
      if (!is_round(raw_number(each->octets, at, form).value_or(0))) return 0;
      bits += kEach;
    }
  }
  return std::min(bits, kMost);
}

/// From least to most of what the nodes at one level sent, by the part of the number
/// above `block`. Nothing where a node's number carried into it: that part is in use.
std::optional<std::map<double, fleet::Range>> spans_below(const Values& values, double block) {
  std::map<double, fleet::Range> spans;
  for (const auto& row : values) {
    const auto [least, most] = std::minmax_element(row.begin(), row.end());
    const double high = std::floor(*least / block);
    if (high != std::floor(*most / block)) return std::nullopt;
    const auto [span, is_new] = spans.try_emplace(high, fleet::Range{*least, *most});
    if (is_new) continue;
    span->second.low = std::min(span->second.low, *least);
    span->second.high = std::max(span->second.high, *most);
  }
  return spans;
}

/// Bits of how unlikely it is that a number of several octets never carried from its low
/// octets to its high ones, though the low ones moved so far.
double missed_carry_bits(const Values& values, int octets) {
  double bits = 0;
  for (int low = 1; low < octets; ++low) {
    const double block = std::exp2(8.0 * low);
    const auto spans = spans_below(values, block);
    if (!spans) continue;
    for (const auto& [high, span] : *spans) {
      // Small numbers are small for a reason of their own.
      if (high == 0 || high == -1) continue;
      bits -= std::log2(std::max(1 - (span.high - span.low) / block, 0.5 / block));
    }
  }
  return bits;
}

/// Bits of what moves from report to report, and whether it does so around a mean.
std::pair<double, bool> movement_bits(const Values& values, int octets) {
  std::vector<double> steps;
  std::vector<double> residuals;
  for (const auto& row : values) {
    const double mean = std::round(median(row));
    for (std::size_t i = 0; i < row.size(); ++i) {
      if (i > 0) steps.push_back(row[i] - row[i - 1]);
      residuals.push_back(row[i] - mean);
    }
  }
  if (steps.empty()) return {0, false};
  const double fitting = kFitting + 0.5 * std::log2(static_cast<double>(steps.size()) + 1);
  const double walk = spread_bits(steps);
  const double around = spread_bits(residuals) + 1;
  // A trend: energy, running hours.
  const double trend = median(steps);
  std::vector<double> deviations = steps;
  for (double& each : deviations) each -= trend;
  const double climb = spread_bits(deviations) + 2 * std::log2(std::fabs(trend) + 1) + 2;
  const double most = 8.0 * octets * static_cast<double>(steps.size());
  const double best = std::min({walk, around, climb, most});
  double sum = 0;
  for (const double each : steps) sum += std::fabs(each);
  const double haste = haste_bits(sum / static_cast<double>(steps.size()), octets);
  return {best + fitting + haste, around == best};
}

bool moves(const Values& values) {
  return std::any_of(values.begin(), values.end(), [](const auto& row) {
    return std::adjacent_find(row.begin(), row.end(), std::not_equal_to<>{}) != row.end();
  });
}

}  // namespace

double constant_bits(const ReportSeries& series, std::size_t at) {
  const std::uint8_t first = series.nodes().front().front()->octets[at];
  for (const auto& reports : series.nodes()) {
    for (const Framed* each : reports) {
      if (each->octets[at] != first) return kImpossible;
    }
  }
  return kNamingConstant + 8;
}

double node_constant_bits(const ReportSeries& series, std::size_t at) {
  for (const auto& reports : series.nodes()) {
    for (const Framed* each : reports) {
      if (each->octets[at] != reports.front()->octets[at]) return kImpossible;
    }
  }
  return kNamingNodeConstant + 8 * static_cast<double>(series.nodes().size());
}

double noise_bits(const ReportSeries& series) {
  return kNamingNoise + 8 * static_cast<double>(series.frames());
}

NumberBits number_bits(const ReportSeries& series, std::size_t at, const NumberForm& form) {
  const auto values = values_of(series, at, form);
  if (!values) return {};
  NumberBits found;
  found.moves = moves(*values);
  const bool has_sign = form.kind == NumberKind::signed_integer;
  std::vector<double> levels;
  for (const auto& row : *values) levels.push_back(median(row));
  const double level = median(levels);
  for (double& each : levels) each -= level;
  const double bits =
      naming_bits(form) + level_bits(level, form.octets, has_sign) + kFitting + spread_bits(levels);
  const auto [movement, around_mean] = movement_bits(*values, form.octets);
  found.around_mean = around_mean;
  found.bits = bits + movement + missed_carry_bits(*values, form.octets);
  if (form.kind == NumberKind::real) found.bits -= round_reals_bits(series, at, form);
  return found;
}

}  // namespace fieldfare::learn
