// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <cstdint>
#include <optional>
#include <vector>

#include "fieldfare/base/instant.h"

namespace fieldfare::evidence::internal {

/// When a receiver heard anything at all: for each minute with a hearing the
/// first and last second of one. Grows with the days that have a hearing, not with
/// hearings, and doesn't depend on their order.
class Activity {
 public:
  /// A stretch without a hearing, to the second.
  struct Quiet {
    Instant from;  ///< second of the last hearing before
    Instant to;    ///< second of the first hearing afterwards
  };

  void mark(Instant instant) {
    const std::int64_t second = floor_divide(instant.ns, kSecond);
    if (second == last_marked_) return;
    last_marked_ = second;
    const std::int64_t day = floor_divide(second, kSecondsADay);
    const std::int64_t in_day = second - day * kSecondsADay;
    const auto in_minute = static_cast<std::uint8_t>(in_day % 60);
    Minute& at = minutes_of(day)[static_cast<std::size_t>(in_day / 60)];
    if (at.first == kNone) {
      at = {in_minute, in_minute};
    } else {
      at.first = std::min(at.first, in_minute);
      at.last = std::max(at.last, in_minute);
    }
  }

  /// Every stretch with at least one whole minute without a hearing, in order.
  std::vector<Quiet> quiet() const {
    std::vector<Quiet> result;
    std::optional<std::int64_t> before;  // second of the last hearing so far
    for (const Day& day : days_) {
      for (std::size_t i = 0; i < day.minutes.size(); ++i) {
        const Minute& minute = day.minutes[i];
        if (minute.first == kNone) continue;
        const std::int64_t start = day.day * kSecondsADay + static_cast<std::int64_t>(i) * 60;
        if (before && start - *before > 60) {
          result.push_back({{*before * kSecond}, {(start + minute.first) * kSecond}});
        }
        before = start + minute.last;
      }
    }
    return result;
  }

  /// What is left of a stretch without the times in which something was heard, to
  /// the minute: between two hearings of one minute there may have been others.
  std::vector<Quiet> quiet_within(Instant from, Instant to) const {
    std::vector<Quiet> result;
    const std::int64_t first_day = floor_divide(from.ns, kSecond * kSecondsADay);
    auto day =
        std::lower_bound(days_.begin(), days_.end(), first_day,
                         [](const Day& known, std::int64_t wanted) { return known.day < wanted; });
    for (; day != days_.end() && day->day * kSecondsADay * kSecond < to.ns; ++day) {
      for (std::size_t i = 0; i < day->minutes.size(); ++i) {
        const Minute& minute = day->minutes[i];
        if (minute.first == kNone) continue;
        const std::int64_t start = day->day * kSecondsADay + static_cast<std::int64_t>(i) * 60;
        const Instant begin{(start + minute.first) * kSecond};
        const Instant end{(start + minute.last + 1) * kSecond};
        // A hearing of the very second in which the stretch begins or ends is outside.
        const bool one_inside = (begin >= from && begin + Duration{kSecond} <= to) ||
                                (end <= to && end - Duration{kSecond} >= from);
        if (!one_inside) continue;
        if (begin > from) result.push_back({from, begin});
        from = std::min(end, to);
      }
    }
    if (from < to) result.push_back({from, to});
    return result;
  }

  template <class Archive>
  void visit(Archive& archive) {
    archive(days_);
    if constexpr (Archive::kReads) {
      last_marked_ = INT64_MIN;
      for (const Day& day : days_) {
        if (day.minutes.size() != kMinutesADay) archive.fail();
      }
    }
  }

 private:
  static constexpr std::int64_t kSecond = 1'000'000'000;
  static constexpr std::int64_t kSecondsADay = 86'400;
  static constexpr std::size_t kMinutesADay = 1440;
  static constexpr std::uint8_t kNone = 255;

  struct Minute {
    std::uint8_t first = kNone;
    std::uint8_t last = 0;

    template <class Archive>
    void visit(Archive& archive) {
      archive(first, last);
    }
  };
  struct Day {
    std::int64_t day = 0;  ///< since 1970-01-01
    std::vector<Minute> minutes;

    template <class Archive>
    void visit(Archive& archive) {
      archive(day, minutes);
    }
  };

  static std::int64_t floor_divide(std::int64_t a, std::int64_t b) {
    return a / b - (a % b < 0 ? 1 : 0);
  }
  std::vector<Minute>& minutes_of(std::int64_t day) {
    if (!days_.empty() && days_.back().day == day) return days_.back().minutes;
    auto at =
        std::lower_bound(days_.begin(), days_.end(), day,
                         [](const Day& known, std::int64_t wanted) { return known.day < wanted; });
    if (at == days_.end() || at->day != day) {
      at = days_.insert(at, {day, std::vector<Minute>(kMinutesADay)});
    }
    return at->minutes;
  }

  std::vector<Day> days_;  ///< ascending
  std::int64_t last_marked_ = INT64_MIN;
};

}  // namespace fieldfare::evidence::internal
