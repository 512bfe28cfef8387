// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/internal/desk_words.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <set>
#include <string_view>
#include <utility>

namespace fieldfare::render::internal {
namespace {

constexpr std::string_view kHexDigits = "0123456789ABCDEFabcdef";

struct Unit {
  double from_s;  ///< spans this long are told in it
  double seconds;
  const char* name;
};
constexpr std::array<Unit, 4> kUnits = {
    {{172'800, 86'400, "d"}, {6'000, 3'600, "h"}, {100, 60, "min"}, {0, 1, "s"}}};

const Unit& unit_for(double seconds) {
  return *std::find_if(kUnits.begin(), kUnits.end(),
                       [seconds](const Unit& unit) { return seconds >= unit.from_s; });
}

struct Sign {
  std::string_view suffix, unicode, ascii;
};
constexpr auto kSigns = std::to_array<Sign>({
    {"c", "°C", "C"},       {"f", "°F", "F"},   {"k", "K", "K"},       {"pct", "%", "%"},
    {"rh", "% RH", "% RH"}, {"v", "V", "V"},    {"mv", "mV", "mV"},    {"a", "A", "A"},
    {"ma", "mA", "mA"},     {"ua", "µA", "uA"}, {"w", "W", "W"},       {"hpa", "hPa", "hPa"},
    {"kpa", "kPa", "kPa"},  {"pa", "Pa", "Pa"}, {"bar", "bar", "bar"}, {"ppm", "ppm", "ppm"},
    {"m", "m", "m"},        {"mm", "mm", "mm"}, {"lx", "lx", "lx"},    {"deg", "°", "deg"},
    {"ph", "pH", "pH"},
});

/// As many digits as tell two nodes apart, and no more: `21.4`, `3.05`, `1013`.
std::string value_words(double value) {
  const double size = std::abs(value);
  if (size < 1 || size >= 1e7) return fmt::format("{:.3g}", value);
  if (value == std::round(value) || size >= 1e3) return fmt::format("{:.0f}", value);
  return fmt::format("{:.{}f}", value, size < 10 ? 2 : 1);
}

}  // namespace

std::string short_span(Duration duration) {
  if (duration.ns < 0) return "-" + short_span(span_between({duration.ns}, {0}));
  const double seconds = duration.in_seconds();
  const Unit& unit = unit_for(seconds);
  const double count = seconds / unit.seconds;
  return count >= 99.5 ? fmt::format("{:.0f} {}", count, unit.name)
                       : fmt::format("{:.2g} {}", count, unit.name);
}

std::string age_words(Duration age) {
  const double seconds = age.in_seconds();
  if (seconds < 1) return "now";
  const Unit& unit = unit_for(seconds);
  return fmt::format("{:.0f} {}", std::floor(seconds / unit.seconds), unit.name);
}

std::string offset_words(Duration offset) {
  const double seconds = std::abs(offset.in_seconds());
  const char sign = offset.ns < 0 ? '-' : '+';
  if (seconds < 9.95) return fmt::format("{}{:.1f} s", sign, seconds);
  const Unit& unit = unit_for(seconds);
  return fmt::format("{}{:.0f} {}", sign, seconds / unit.seconds, unit.name);
}

std::string clock_words(Instant moment, Instant now) {
  constexpr std::size_t kDateSize = 10;
  const std::string time = local_time(moment);
  const bool today = time.substr(0, kDateSize) == local_time(now).substr(0, kDateSize);
  return today ? time.substr(kDateSize + 1) : time;
}

std::string reading_words(const judge::NamedValue& reading, bool unicode) {
  const std::size_t bar = reading.name.rfind('_');
  const std::string_view suffix = bar == std::string::npos
                                      ? std::string_view{}
                                      : std::string_view{reading.name}.substr(bar + 1);
  for (const Sign& sign : kSigns) {
    if (sign.suffix != suffix) continue;
    return fmt::format("{} {}", value_words(reading.value), unicode ? sign.unicode : sign.ascii);
  }
  return fmt::format("{} {}", safe_text(reading.name, unicode), value_words(reading.value));
}

std::string counter_words(const work::DeskRow& row) {
  if (!row.counter) return {};
  return row.step ? fmt::format("{} {:+}", *row.counter, *row.step)
                  : fmt::format("{}", *row.counter);
}

Duration span_between(Instant earlier, Instant later) {
  Duration span;
  if (!__builtin_sub_overflow(later.ns, earlier.ns, &span.ns)) return span;
  using Limits = std::numeric_limits<std::int64_t>;
  return {later < earlier ? -Limits::max() : Limits::max()};
}

std::string tail_of(const std::string& digits, std::size_t size) {
  if (digits.size() <= size || digits.find_first_not_of(kHexDigits) != std::string::npos) {
    return digits;
  }
  return digits.substr(digits.size() - size);
}

std::size_t tail_size(const work::DeskView& view) {
  constexpr std::size_t kFewest = 4;
  constexpr std::size_t kMost = 16;
  std::size_t size = kFewest;
  for (; size < kMost; ++size) {
    std::set<std::string> seen;
    const bool apart = std::all_of(view.rows.begin(), view.rows.end(), [&](const auto& row) {
      return row.address.empty() || seen.insert(tail_of(row.address, size)).second;
    });
    if (apart) break;
  }
  return size;
}

std::string called(const work::DeskRow& row) {
  if (!row.name.empty()) return row.name;
  return row.digits.empty() ? row.address : "label " + row.digits;
}

}  // namespace fieldfare::render::internal
