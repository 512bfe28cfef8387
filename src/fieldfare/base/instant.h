// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace fieldfare {

/// A span of time in whole nanoseconds, of either sign.
struct Duration {
  std::int64_t ns = 0;

  static constexpr Duration seconds(double s) { return {static_cast<std::int64_t>(s * 1e9)}; }
  constexpr double in_seconds() const { return static_cast<double>(ns) * 1e-9; }
  constexpr auto operator<=>(const Duration&) const = default;
};

/// A moment in nanoseconds since 1970-01-01T00:00:00Z, leap seconds not counted
/// (POSIX time). Covers 1677-09-21 to 2262-04-11.
struct Instant {
  std::int64_t ns = 0;

  constexpr auto operator<=>(const Instant&) const = default;
};

constexpr Duration operator-(Instant a, Instant b) { return {a.ns - b.ns}; }
constexpr Instant operator+(Instant a, Duration d) { return {a.ns + d.ns}; }
constexpr Instant operator-(Instant a, Duration d) { return {a.ns - d.ns}; }
constexpr Duration operator+(Duration a, Duration b) { return {a.ns + b.ns}; }
constexpr Duration operator-(Duration a, Duration b) { return {a.ns - b.ns}; }

/// Reads an RFC 3339 date-time: `2026-03-02T07:15:00.25+01:00`, with `T`, `t` or
/// a blank between date and time, `Z`/`z` or a numeric offset, any number of
/// decimals (those past the ninth are dropped). A leap second `:60` is taken as
/// the first second of the next minute, and only where a month of UTC ends.
/// Nothing for anything else, and for moments outside the range of Instant.
/// Source: RFC 3339 sections 5.6 and 5.7.
std::optional<Instant> parse_rfc3339(std::string_view text);

/// Writes RFC 3339 in UTC with `Z` and as many decimals, in groups of three
/// (none, 3, 6 or 9), as the moment needs: `2026-03-02T06:15:00.250Z`.
std::string to_rfc3339(Instant instant);

/// Reads a duration as people write it in files and on the command line:
/// a number and a unit, `90 s`, `10 min`, `12 h`, `5 d`, `2 w`, `5 y`, `250 ms`,
/// with or without the blank. A year is 365.25 days. Nothing for anything else,
/// for a negative number and for more than 292 years.
std::optional<Duration> parse_duration(std::string_view text);

}  // namespace fieldfare
