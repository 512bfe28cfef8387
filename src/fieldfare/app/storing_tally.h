// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>

#include "fieldfare/app/listen.h"

namespace fieldfare::app {

/// Counts how long hearings took to the disk, to the millisecond up to a minute.
class StoringTally {
 public:
  void add(Duration took);
  StoringTimes times() const;

 private:
  static constexpr std::size_t kBins = 60'001;
  double quantile_ms(double share) const;

  std::array<std::uint32_t, kBins> bins_{};
  std::uint64_t count_ = 0;
  double longest_ms_ = 0;
};

}  // namespace fieldfare::app
