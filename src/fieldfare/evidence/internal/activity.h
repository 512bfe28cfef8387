// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <cstdint>
#include <vector>

#include "fieldfare/base/instant.h"

namespace fieldfare::evidence::internal {

/// When a receiver heard anything at all: for each minute with a hearing the
/// first and last second of one. Grows with time, not with hearings, and doesn't
/// depend on their order.
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
    const std::int64_t minute = floor_divide(second, 60);
    const auto in_minute = static_cast<std::uint8_t>(second - minute * 60);
    Minute& at = room_for(minute);
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
    std::size_t before = 0;
    for (std::size_t i = 1; i < minutes_.size(); ++i) {
      if (minutes_[i].first == kNone) continue;
      if (minutes_[before].first != kNone && i > before + 1) {
        result.push_back({second_of(before, minutes_[before].last),
                          second_of(i, minutes_[i].first)});
      }
      before = i;
    }
    return result;
  }

  template <class Archive>
  void visit(Archive& archive) {
    archive(base_minute_, minutes_);
    if constexpr (Archive::kReads) last_marked_ = INT64_MIN;
  }

 private:
  static constexpr std::int64_t kSecond = 1'000'000'000;
  static constexpr std::uint8_t kNone = 255;

  struct Minute {
    std::uint8_t first = kNone;
    std::uint8_t last = 0;

    template <class Archive>
    void visit(Archive& archive) {
      archive(first, last);
    }
  };

  static std::int64_t floor_divide(std::int64_t a, std::int64_t b) {
    return a / b - (a % b < 0 ? 1 : 0);
  }
  Instant second_of(std::size_t index, std::uint8_t second) const {
    return {((base_minute_ + static_cast<std::int64_t>(index)) * 60 + second) * kSecond};
  }
  Minute& room_for(std::int64_t minute) {
    if (minutes_.empty()) base_minute_ = minute;
    if (minute < base_minute_) {
      minutes_.insert(minutes_.begin(), static_cast<std::size_t>(base_minute_ - minute), Minute{});
      base_minute_ = minute;
    }
    const auto index = static_cast<std::size_t>(minute - base_minute_);
    if (index >= minutes_.size()) minutes_.resize(index + 1);
    return minutes_[index];
  }

  std::int64_t base_minute_ = 0;
  std::vector<Minute> minutes_;
  std::int64_t last_marked_ = INT64_MIN;
};

}  // namespace fieldfare::evidence::internal
