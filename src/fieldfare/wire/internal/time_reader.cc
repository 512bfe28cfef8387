// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/time_reader.h"

#include <algorithm>
#include <cstring>
#include <limits>
#include <string>

namespace fieldfare::wire {
namespace {

constexpr std::int64_t kNsPerSecond = 1'000'000'000;
constexpr Instant kFirstBelieved{946'684'800 * kNsPerSecond};  // 2000-01-01T00:00:00Z
constexpr Instant kFirstUnbelieved{std::int64_t{std::numeric_limits<std::int32_t>::max()} *
                                   kNsPerSecond};

/// Two digits as a number; 100 or more where either is none.
unsigned two_digits(const char* at) {
  const unsigned tens = static_cast<unsigned char>(at[0]) - unsigned{'0'};
  const unsigned ones = static_cast<unsigned char>(at[1]) - unsigned{'0'};
  return tens > 9 || ones > 9 ? 100 : tens * 10 + ones;
}

/// `.25` as nanoseconds; nothing unless it is a point and one to nine digits.
std::optional<std::int64_t> read_fraction(std::string_view text) {
  if (text.empty()) return 0;
  if (text[0] != '.' || text.size() < 2 || text.size() > 10) return std::nullopt;
  std::int64_t ns = 0;
  for (const char c : text.substr(1)) {
    const unsigned digit = static_cast<unsigned char>(c) - unsigned{'0'};
    if (digit > 9) return std::nullopt;
    ns = ns * 10 + digit;
  }
  constexpr std::array<std::int64_t, 10> kScale = {
      kNsPerSecond, 100'000'000, 10'000'000, 1'000'000, 100'000, 10'000, 1'000, 100, 10, 1};
  return ns * kScale[text.size() - 1];
}

/// `07:15:00.25Z`, the common way to write it, as nanoseconds of the day.
/// Nothing for all else, leap seconds included: the slow way judges those.
std::optional<std::int64_t> read_time_of_day(std::string_view text) {
  if (text.size() < 9 || text[2] != ':' || text[5] != ':' || text.back() != 'Z') {
    return std::nullopt;
  }
  const unsigned hours = two_digits(text.data());
  const unsigned minutes = two_digits(text.data() + 3);
  const unsigned seconds = two_digits(text.data() + 6);
  if (hours > 23 || minutes > 59 || seconds > 59) return std::nullopt;
  const std::optional<std::int64_t> fraction = read_fraction(text.substr(8, text.size() - 9));
  if (!fraction) return std::nullopt;
  return std::int64_t{hours * 3600 + minutes * 60 + seconds} * kNsPerSecond + *fraction;
}

}  // namespace

std::optional<Instant> TimeReader::read(std::string_view text) {
  if (has_date_ && text.size() > kDateSize + 1 && text[kDateSize] == 'T' &&
      std::memcmp(text.data(), date_.data(), kDateSize) == 0) {
    const std::optional<std::int64_t> time_of_day = read_time_of_day(text.substr(kDateSize + 1));
    if (time_of_day) return Instant{midnight_ns_ + *time_of_day};
  }
  return read_slowly(text);
}

std::optional<Instant> TimeReader::read_slowly(std::string_view text) {
  const std::optional<Instant> time = parse_rfc3339(text);
  if (!time || text.size() < kDateSize) return time;
  // A date at the very ends of Instant is not remembered, so that adding the
  // time of day cannot overflow.
  const std::string_view date = text.substr(0, kDateSize);
  const std::optional<Instant> midnight = parse_rfc3339(std::string{date} + "T00:00:00Z");
  has_date_ = midnight && is_believed(*midnight);
  if (has_date_) {
    std::copy(date.begin(), date.end(), date_.begin());
    midnight_ns_ = midnight->ns;
  }
  return time;
}

bool is_believed(Instant time) { return time >= kFirstBelieved && time < kFirstUnbelieved; }

}  // namespace fieldfare::wire
