// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/listeners.h"

#include <algorithm>

namespace fieldfare::wire {

void Listeners::count(const MacHeader& header) {
  // Who forms a network takes its first address: common practice.
  const auto& own = header.source.address;
  if (own && own->digits == 4 && own->value == 0) network_zero_ = true;
  const auto& to = header.destination.address;
  if (!to) return;
  const std::pair listener{to->value, to->digits};
  const auto known = frames_.find(listener);
  if (known != frames_.end()) {
    ++known->second;
  } else if (frames_.size() < kMost) {
    frames_.emplace(listener, 1);
  } else {
    ++others_;
  }
}

bool Listeners::several() const {
  // A frame or two to somebody else belong to joining a network, or are damaged
  // ones whose check held by chance; common practice.
  constexpr std::uint64_t kFewest = 2;
  constexpr std::uint64_t kShare = 100;
  if (network_zero_) return true;
  std::uint64_t all = others_;
  std::uint64_t most = 0;
  for (const auto& [listener, frames] : frames_) {
    all += frames;
    most = std::max(most, frames);
  }
  const std::uint64_t rest = all - most;
  return rest >= kFewest && rest * kShare >= all;
}

}  // namespace fieldfare::wire
