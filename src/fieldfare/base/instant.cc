// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/instant.h"

#include <array>
#include <charconv>
#include <cmath>
#include <utility>

namespace fieldfare {
namespace {

constexpr std::int64_t kNsPerSecond = 1'000'000'000;
constexpr std::int64_t kSecondsPerDay = 86'400;

// The first and last nanosecond that 64 bits hold, as seconds (rounded down)
// and nanoseconds within that second.
constexpr std::int64_t kFirstSecond = -9'223'372'037;
constexpr std::int64_t kFirstNs = 145'224'192;
constexpr std::int64_t kLastSecond = 9'223'372'036;
constexpr std::int64_t kLastNs = 854'775'807;

constexpr std::array<int, 13> kDaysBeforeMonth = {0,   0,   31,  59,  90,  120, 151,
                                                  181, 212, 243, 273, 304, 334};
constexpr std::array<int, 13> kDaysInMonth = {0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};

constexpr std::ptrdiff_t kMostDecimals = 9;
constexpr std::array<std::int64_t, 10> kNsPerDecimal = {
    1'000'000'000, 100'000'000, 10'000'000, 1'000'000, 100'000, 10'000, 1'000, 100, 10, 1};

constexpr bool is_leap_year(int year) {
  return year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
}

constexpr int days_in_month(int year, int month) {
  return kDaysInMonth[static_cast<std::size_t>(month)] + (month == 2 && is_leap_year(year) ? 1 : 0);
}

/// Days from 1970-01-01 to the first of January, proleptic Gregorian calendar.
/// Precondition: year >= 1, which keeps the divisions free of rounding down.
constexpr std::int64_t days_before_year(int year) {
  const int past = year - 1;
  constexpr std::int64_t kDaysBefore1970 = 719'162;
  return 365LL * past + past / 4 - past / 100 + past / 400 - kDaysBefore1970;
}

constexpr std::int64_t days_since_1970(int year, int month, int day) {
  const int leap_day = month > 2 && is_leap_year(year) ? 1 : 0;
  return days_before_year(year) + kDaysBeforeMonth[static_cast<std::size_t>(month)] + leap_day +
         day - 1;
}
static_assert(days_since_1970(1970, 1, 1) == 0);

struct Date {
  int year;
  int month;
  int day;
};

Date date_of(std::int64_t days) {
  // A guess from the mean length of the year is at most one off.
  int year = static_cast<int>(1970 + std::floor(static_cast<double>(days) / 365.2425));
  while (days < days_before_year(year)) --year;
  while (days >= days_before_year(year + 1)) ++year;
  int day = static_cast<int>(days - days_before_year(year)) + 1;
  int month = 1;
  while (day > days_in_month(year, month)) day -= days_in_month(year, month++);
  return {year, month, day};
}

/// Reads digits from the front of a text, remembering whether all went well, so
/// that the caller asks once at the end.
class Digits {
 public:
  explicit Digits(const char* at) : at_{at} {}

  int two() {
    const unsigned tens = digit(), ones = digit();
    return static_cast<int>(tens * 10 + ones);
  }
  int four() {
    const int hundreds = two();
    return hundreds * 100 + two();
  }
  void expect(char wanted) { wrong_ |= *at_++ != wanted; }
  char next() { return *at_++; }
  bool all_right() const { return !wrong_; }
  const char* at() const { return at_; }

 private:
  unsigned digit() {
    const unsigned value = static_cast<unsigned char>(*at_++) - unsigned{'0'};
    wrong_ |= value > 9;
    return value;
  }

  const char* at_;
  bool wrong_ = false;
};

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// Decimals after the seconds as nanoseconds; `at` stands behind the point and
/// is moved past the last digit. Nothing where there is no digit.
std::optional<std::int64_t> read_decimals(const char*& at, const char* end) {
  const char* const first = at;
  std::int64_t value = 0;
  while (at < end && at - first < kMostDecimals && is_digit(*at))
    value = value * 10 + (*at++ - '0');
  if (at == first) return std::nullopt;
  const std::int64_t ns = value * kNsPerDecimal[static_cast<std::size_t>(at - first)];
  while (at < end && is_digit(*at)) ++at;
  return ns;
}

/// What follows the seconds, `Z` or `+hh:mm`, as seconds east of UTC.
std::optional<std::int64_t> read_offset(const char* at, const char* end) {
  if (end - at == 1)
    return *at == 'Z' || *at == 'z' ? std::optional<std::int64_t>{0} : std::nullopt;
  if (end - at != 6 || (*at != '+' && *at != '-')) return std::nullopt;
  const std::int64_t sign = *at == '+' ? 1 : -1;
  Digits digits{at + 1};
  const int hours = digits.two();
  digits.expect(':');
  const int minutes = digits.two();
  if (!digits.all_right() || hours > 23 || minutes > 59) return std::nullopt;
  return sign * (hours * 3600 + minutes * 60);
}

std::optional<Instant> instant_of(std::int64_t second, std::int64_t ns) {
  if (second < kFirstSecond || (second == kFirstSecond && ns < kFirstNs)) return std::nullopt;
  if (second > kLastSecond || (second == kLastSecond && ns > kLastNs)) return std::nullopt;
  // Counting down from the next second keeps the first moments from overflowing.
  if (second < 0) return Instant{(second + 1) * kNsPerSecond + (ns - kNsPerSecond)};
  return Instant{second * kNsPerSecond + ns};
}

/// Leap seconds are put in at the end of a month of UTC only.
bool ends_a_month(std::int64_t next_second) {
  return next_second % kSecondsPerDay == 0 && date_of(next_second / kSecondsPerDay).day == 1;
}

}  // namespace

std::optional<Instant> parse_rfc3339(std::string_view text) {
  constexpr std::size_t kShortest = std::string_view{"1970-01-01T00:00:00Z"}.size();
  if (text.size() < kShortest) return std::nullopt;
  Digits digits{text.data()};
  const int year = digits.four();
  digits.expect('-');
  const int month = digits.two();
  digits.expect('-');
  const int day = digits.two();
  const char separator = digits.next();
  const int hour = digits.two();
  digits.expect(':');
  const int minute = digits.two();
  digits.expect(':');
  const int second = digits.two();
  if (!digits.all_right() || (separator != 'T' && separator != 't' && separator != ' ')) {
    return std::nullopt;
  }
  if (year < 1677 || month < 1 || month > 12 || day < 1 || day > days_in_month(year, month) ||
      hour > 23 || minute > 59 || second > 60) {
    return std::nullopt;
  }

  const char* at = digits.at();
  const char* const end = text.data() + text.size();
  std::int64_t ns = 0;
  if (*at == '.') {
    const auto decimals = read_decimals(++at, end);
    if (!decimals) return std::nullopt;
    ns = *decimals;
  }
  const auto offset_s = read_offset(at, end);
  if (!offset_s) return std::nullopt;
  const std::int64_t utc = days_since_1970(year, month, day) * kSecondsPerDay + hour * 3600 +
                           minute * 60 + second - *offset_s;
  if (second == 60 && !ends_a_month(utc)) return std::nullopt;
  return instant_of(utc, ns);
}

std::string to_rfc3339(Instant instant) {
  std::int64_t second = instant.ns / kNsPerSecond;
  std::int64_t ns = instant.ns % kNsPerSecond;
  if (ns < 0) {
    ns += kNsPerSecond;
    --second;
  }
  std::int64_t days = second / kSecondsPerDay;
  std::int64_t of_day = second % kSecondsPerDay;
  if (of_day < 0) {
    of_day += kSecondsPerDay;
    --days;
  }
  const Date date = date_of(days);

  std::string out;
  const auto put = [&out](std::int64_t value, int width) {
    std::array<char, 10> reversed{};
    for (int i = 0; i < width; ++i, value /= 10) {
      reversed[static_cast<std::size_t>(width - 1 - i)] = static_cast<char>('0' + value % 10);
    }
    out.append(reversed.data(), static_cast<std::size_t>(width));
  };
  out.reserve(30);
  put(date.year, 4);
  out += '-';
  put(date.month, 2);
  out += '-';
  put(date.day, 2);
  out += 'T';
  put(of_day / 3600, 2);
  out += ':';
  put(of_day / 60 % 60, 2);
  out += ':';
  put(of_day % 60, 2);
  if (ns != 0) {
    out += '.';
    if (ns % 1'000'000 == 0) {
      put(ns / 1'000'000, 3);
    } else if (ns % 1'000 == 0) {
      put(ns / 1'000, 6);
    } else {
      put(ns, 9);
    }
  }
  out += 'Z';
  return out;
}

std::optional<Duration> parse_duration(std::string_view text) {
  constexpr double kYear = 365.25 * 86'400;
  constexpr std::array<std::pair<std::string_view, double>, 7> kUnits = {{{"ms", 1e6},
                                                                          {"s", 1e9},
                                                                          {"min", 60e9},
                                                                          {"h", 3600e9},
                                                                          {"d", 86'400e9},
                                                                          {"w", 7 * 86'400e9},
                                                                          {"y", kYear * 1e9}}};
  if (text.empty() || !is_digit(text.front())) return std::nullopt;
  double number = 0;
  const char* const end = text.data() + text.size();
  const auto [after, fault] = std::from_chars(text.data(), end, number, std::chars_format::fixed);
  if (fault != std::errc{}) return std::nullopt;
  std::string_view unit{after, static_cast<std::size_t>(end - after)};
  if (unit.starts_with(' ')) unit.remove_prefix(1);
  for (const auto& [name, ns_per_unit] : kUnits) {
    if (name != unit) continue;
    const double ns = number * ns_per_unit;
    if (ns > 292 * kYear * 1e9) return std::nullopt;
    return Duration{std::llround(ns)};
  }
  return std::nullopt;
}

}  // namespace fieldfare
