// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <array>
#include <cstdint>
#include <optional>

namespace fieldfare::evidence::internal {

/// How fast the counter has gone lately: the time from one number to the next
/// over the last kPaces steps, as a median, so that a sleep or a late row among
/// them does no harm.
class Pace {
 public:
  static constexpr std::size_t kPaces = 8;

  struct Estimate {
    double step_ns;  ///< time from one number to the next
    double spread;   ///< relative width of the middle half of the steps
    bool regular;    ///< good enough to count beats by the clock
  };

  void add(std::int64_t elapsed_ns, std::uint64_t steps) {
    paces_[next_] = elapsed_ns / static_cast<std::int64_t>(steps);
    next_ = static_cast<std::uint8_t>((next_ + 1) % kPaces);
    count_ = static_cast<std::uint8_t>(std::min<std::size_t>(count_ + 1U, kPaces));
  }

  /// Nothing before three steps.
  std::optional<Estimate> estimate() const {
    if (count_ < 3) return std::nullopt;
    std::array<std::int64_t, kPaces> sorted{};
    for (std::size_t i = 0; i < count_; ++i) {
      std::size_t at = i;
      for (; at > 0 && sorted[at - 1] > paces_[i]; --at) sorted[at] = sorted[at - 1];
      sorted[at] = paces_[i];
    }
    const auto step = static_cast<double>(sorted[count_ / 2U]);
    if (step <= 0) return std::nullopt;
    const auto middle_half = static_cast<double>(sorted[(3U * count_) / 4U] - sorted[count_ / 4U]);
    const double spread = middle_half / step;
    // Beyond this spread a report every now and then isn't a beat: common practice.
    constexpr double kMostSpread = 0.5;
    return Estimate{step, spread, spread < kMostSpread};
  }

  /// The shortest of the last steps; 0 before kPaces of them.
  std::int64_t shortest_ns() const {
    if (count_ < kPaces) return 0;
    return *std::min_element(paces_.begin(), paces_.end());
  }

  template <class Archive>
  void visit(Archive& archive) {
    for (std::int64_t& pace : paces_) archive(pace);
    archive(next_, count_);
    if constexpr (Archive::kReads) {
      if (next_ >= kPaces || count_ > kPaces) archive.fail();
    }
  }

 private:
  std::array<std::int64_t, kPaces> paces_{};
  std::uint8_t next_ = 0;
  std::uint8_t count_ = 0;
};

}  // namespace fieldfare::evidence::internal
