// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <span>
#include <string_view>

#include "fieldfare/base/number_text.h"
#include "fieldfare/judge/internal/first_claims.h"
#include "fieldfare/wire/log_format.h"

namespace fieldfare::judge::internal {
namespace {

constexpr std::size_t kNewest = 3;

struct Limits {
  double low;
  double high;
  bool by_sheet;
};

Limits limits_of(std::string_view name, const FirstTerms& terms) {
  for (const fleet::FieldFacts& field : terms.fields) {
    if (field.name == name && field.plausible) {
      return {field.plausible->low, field.plausible->high, true};
    }
  }
  const wire::PlausibleRange range = wire::plausible_range(name);
  return {range.low, range.high, false};
}

/// The values of one reading in the newest reports, the newest first.
std::vector<double> newest_of(const FirstNode& node, std::string_view name) {
  std::vector<double> values;
  for (auto report = node.reports.rbegin();
       report != node.reports.rend() && values.size() < kNewest; ++report) {
    for (const NamedValue& reading : report->readings) {
      if (reading.name == name) {
        values.push_back(reading.value);
        break;
      }
    }
  }
  return values;
}

bool is_outside(double value, const Limits& limits) {
  return std::isnan(value) || value < limits.low || value > limits.high;
}

/// All ones or an end of 16 bits, bare or in tenths and hundredths: what is sent where
/// no sensor answers (common practice).
bool is_word_end(double value) {
  constexpr std::array<double, 3> kEnds{32767, -32768, 65535};
  constexpr std::array<double, 3> kScales{1, 0.1, 0.01};
  for (const double end : kEnds) {
    for (const double scale : kScales) {
      if (std::abs(value - end * scale) < 1e-9 * std::abs(end)) return true;
    }
  }
  return false;
}

bool is_one_of(double value, std::span<const double> values) {
  return std::find(values.begin(), values.end(), value) != values.end();
}

/// What broken or missing sensors are wont to give, where it can't well be true of a
/// node on a desk three times running. Other readings may stand at 0 or 255 for ever:
/// a contact, a level, a count.
bool is_suspicious(std::string_view name, double value) {
  // Digital thermometers say 85 before they have measured and -127 where none is
  // found (common practice).
  constexpr std::array<double, 6> kThermometer{0, 85, 127, -127, -128, 255};
  constexpr std::array<std::string_view, 7> kMeasured{"_c",  "_pct", "_hpa", "_kpa",
                                                      "_pa", "_ppm", "_v"};
  if (name.ends_with("_c") && is_one_of(value, kThermometer)) return true;
  if (name.starts_with("humidity") && value == 0) return true;
  const bool measured = std::any_of(kMeasured.begin(), kMeasured.end(),
                                    [name](std::string_view unit) { return name.ends_with(unit); });
  return measured && is_word_end(value);
}

struct Fault {
  bool failed = false;
  std::string why;
};

std::optional<Fault> fault_of(std::string_view name, const std::vector<double>& values,
                              const FirstTerms& terms) {
  const Limits limits = limits_of(name, terms);
  const auto outside = std::count_if(values.begin(), values.end(),
                                     [&](double value) { return is_outside(value, limits); });
  const auto all = static_cast<std::ptrdiff_t>(values.size());
  if (outside > 0) {
    const double value = *std::find_if(values.begin(), values.end(),
                                       [&](double each) { return is_outside(each, limits); });
    return Fault{outside == all,
                 fmt::format("{} was {}; {} to {} is what {}", name, number_text(value),
                             number_text(limits.low), number_text(limits.high),
                             limits.by_sheet ? "its sheet allows" : "can be")};
  }
  const bool stuck = std::all_of(values.begin(), values.end(),
                                 [&](double value) { return value == values.front(); });
  if (values.empty() || !stuck || !is_suspicious(name, values.front())) return std::nullopt;
  return Fault{values.size() >= kNewest,
               fmt::format("{} stays at {}, which broken sensors give (common practice)", name,
                           number_text(values.front()))};
}

Finding finding_of(const Fault& fault) {
  const Outcome outcome = fault.failed ? Outcome::failed : Outcome::open;
  return {{Claim::reading, outcome, fault.why, std::nullopt},
          fault.failed ? "reading can't be" : "wait",
          fault.failed ? "check that its sensor is plugged in, and what the sheet says of this "
                         "reading"
                       : "wait for another report, or provoke one"};
}

}  // namespace

std::optional<Finding> judge_reading(const FirstNode& node) {
  std::optional<Fault> worst;
  std::size_t judged = 0;
  std::string shown;
  if (node.reports.empty()) return std::nullopt;
  for (const NamedValue& reading : node.reports.back().readings) {
    if (reading.name == kNetworkReading) continue;
    ++judged;
    if (shown.empty()) shown = fmt::format("{} {}", reading.name, number_text(reading.value));
    const auto fault = fault_of(reading.name, newest_of(node, reading.name), node.terms);
    if (fault && (!worst || (fault->failed && !worst->failed))) worst = fault;
  }
  if (judged == 0) return std::nullopt;
  if (!worst && node.reports.back().implausible) {
    worst = Fault{false, "its newest report has a value that can't be"};
  }
  if (worst) return finding_of(*worst);
  return Finding{{Claim::reading, Outcome::met,
                  judged == 1 ? fmt::format("{} is possible", shown)
                              : fmt::format("{} readings are possible, {} first", judged, shown),
                  std::nullopt},
                 {},
                 {}};
}

}  // namespace fieldfare::judge::internal
