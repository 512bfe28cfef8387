// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/arrival_queue.h"

#include <utility>

namespace fieldfare::app {

void ArrivalQueue::put(InletNumber inlet, const source::Arrival& arrival) {
  {
    const std::lock_guard lock{mutex_};
    waiting_.events.emplace_back(QueuedArrival{inlet, arrival.at, waiting_.octets.size(),
                                               arrival.octets.size(), arrival.whole,
                                               arrival.held_back, arrival.ticket, arrival.mark});
    waiting_.octets.insert(waiting_.octets.end(), arrival.octets.begin(), arrival.octets.end());
  }
  something_.notify_one();
}

void ArrivalQueue::put(QueuedEvent event) {
  {
    const std::lock_guard lock{mutex_};
    waiting_.events.push_back(std::move(event));
  }
  something_.notify_one();
}

void ArrivalQueue::end() {
  {
    const std::lock_guard lock{mutex_};
    waiting_.ended = true;
  }
  something_.notify_one();
}

void ArrivalQueue::take(Haul& haul, std::chrono::milliseconds patience) {
  haul.events.clear();
  haul.octets.clear();
  haul.ended = false;
  std::unique_lock lock{mutex_};
  something_.wait_for(lock, patience, [&] { return waiting_.ended || !waiting_.events.empty(); });
  std::swap(haul, waiting_);
  waiting_.ended = haul.ended;
}

bool ArrivalQueue::is_high() const {
  const std::lock_guard lock{mutex_};
  return waiting_.octets.size() > kHighOctets || waiting_.events.size() > kHighEvents;
}

}  // namespace fieldfare::app
