// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <mutex>
#include <string>
#include <variant>
#include <vector>

#include "fieldfare/source/source.h"

namespace fieldfare::app {

/// One source among those listened to, by its place in the list of them.
using InletNumber = std::uint32_t;

struct QueuedArrival {
  InletNumber inlet = 0;
  Instant at;
  std::size_t begin = 0;  ///< of its octets in Haul::octets
  std::size_t size = 0;
  bool whole = false;
  bool held_back = false;
  std::uint64_t ticket = 0;
  std::uint64_t mark = 0;
};
struct QueuedChange {
  InletNumber inlet = 0;
  source::Change change;
};
/// A message that came again and was left out.
struct QueuedRepeat {
  InletNumber inlet = 0;
  std::size_t size = 0;
};
struct QueuedOverrun {
  InletNumber inlet = 0;
  std::string what;
};
/// We were awake.
struct QueuedTick {
  Instant at;
};
using QueuedEvent =
    std::variant<QueuedArrival, QueuedChange, QueuedRepeat, QueuedOverrun, QueuedTick>;

/// What came in since the last haul, in order.
struct Haul {
  std::vector<QueuedEvent> events;
  std::vector<std::uint8_t> octets;
  bool ended = false;  ///< nothing will come behind it

  std::span<const std::uint8_t> octets_of(const QueuedArrival& arrival) const {
    return std::span{octets}.subspan(arrival.begin, arrival.size);
  }
};

/// From the thread that serves the sources to the one that reads and stores, so
/// that waiting for the disk keeps no port waiting. Any number of putters, one
/// taker. Nothing is dropped: whoever puts must heed is_high().
class ArrivalQueue {
 public:
  static constexpr std::size_t kHighOctets = std::size_t{8} << 20U;
  static constexpr std::size_t kHighEvents = 100'000;

  void put(InletNumber inlet, const source::Arrival& arrival);
  void put(QueuedEvent event);
  /// No more will be put.
  void end();

  /// Swaps what is there into `haul`, whose old content is dropped. Waits for
  /// something to come, at most `patience`.
  void take(Haul& haul, std::chrono::milliseconds patience);

  /// More is waiting than should: sources are to pause.
  bool is_high() const;

 private:
  mutable std::mutex mutex_;
  std::condition_variable something_;
  Haul waiting_;
};

}  // namespace fieldfare::app
