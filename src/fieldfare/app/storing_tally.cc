// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/storing_tally.h"

#include <algorithm>
#include <cmath>

namespace fieldfare::app {

void StoringTally::add(Duration took) {
  const double ms = std::max(0.0, took.in_seconds() * 1e3);
  // Rounded up, so that no quantile looks better than it was.
  const auto bin = static_cast<std::size_t>(std::min<double>(std::ceil(ms), kBins - 1));
  ++bins_[bin];
  ++count_;
  longest_ms_ = std::max(longest_ms_, ms);
}

double StoringTally::quantile_ms(double share) const {
  const auto wanted = static_cast<std::uint64_t>(std::ceil(share * static_cast<double>(count_)));
  std::uint64_t seen = 0;
  for (std::size_t bin = 0; bin < kBins; ++bin) {
    seen += bins_[bin];
    if (seen >= wanted) return static_cast<double>(bin);
  }
  return static_cast<double>(kBins - 1);
}

StoringTimes StoringTally::times() const {
  if (count_ == 0) return {};
  return {count_, quantile_ms(0.5), quantile_ms(0.99), longest_ms_};
}

}  // namespace fieldfare::app
