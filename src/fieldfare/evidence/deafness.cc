// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/evidence/deafness.h"

#include <algorithm>
#include <tuple>

namespace fieldfare::evidence {

KnownDeafness::KnownDeafness(std::vector<Deafness> stretches) {
  std::sort(stretches.begin(), stretches.end(), [](const Deafness& a, const Deafness& b) {
    return std::tie(a.receiver, a.from, a.to) < std::tie(b.receiver, b.from, b.to);
  });
  for (const Deafness& stretch : stretches) {
    if (stretch.to <= stretch.from) continue;
    const bool joins = !stretches_.empty() && stretches_.back().receiver == stretch.receiver &&
                       stretch.from <= stretches_.back().to;
    if (joins) {
      stretches_.back().to = std::max(stretches_.back().to, stretch.to);
    } else {
      stretches_.push_back(stretch);
    }
  }
}

std::span<const Deafness> KnownDeafness::of(fleet::ReceiverIndex receiver, Instant from,
                                            Instant to) const {
  const auto begin =
      std::partition_point(stretches_.begin(), stretches_.end(), [&](const Deafness& stretch) {
        return stretch.receiver < receiver || (stretch.receiver == receiver && stretch.to <= from);
      });
  const auto end = std::partition_point(begin, stretches_.end(), [&](const Deafness& stretch) {
    return stretch.receiver == receiver && stretch.from < to;
  });
  return {begin, end};
}

Duration KnownDeafness::within(fleet::ReceiverIndex receiver, Instant from, Instant to) const {
  Duration sum{};
  for (const Deafness& stretch : of(receiver, from, to)) {
    sum.ns += (std::min(stretch.to, to) - std::max(stretch.from, from)).ns;
  }
  return sum;
}

}  // namespace fieldfare::evidence
