// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/arrival_queue.h"

#include <gtest/gtest.h>

#include <string_view>
#include <thread>

namespace fieldfare::app {
namespace {

using std::chrono::milliseconds;

source::Arrival arrival(std::string_view octets, std::uint64_t ticket) {
  source::Arrival made;
  made.octets = {reinterpret_cast<const std::uint8_t*>(octets.data()), octets.size()};
  made.ticket = ticket;
  return made;
}

std::string text(const Haul& haul, const QueuedEvent& event) {
  const auto octets = haul.octets_of(std::get<QueuedArrival>(event));
  return {octets.begin(), octets.end()};
}

TEST(ArrivalQueue, HandsOverInOrderWithTheOctetsOfEach) {
  ArrivalQueue queue;
  queue.put(0, arrival("one", 1));
  queue.put(QueuedEvent{QueuedTick{Instant{5}}});
  queue.put(1, arrival("three", 1));
  Haul haul;
  queue.take(haul, milliseconds{0});
  ASSERT_EQ(haul.events.size(), 3U);
  EXPECT_EQ(text(haul, haul.events[0]), "one");
  EXPECT_EQ(std::get<QueuedTick>(haul.events[1]).at, Instant{5});
  EXPECT_EQ(text(haul, haul.events[2]), "three");
  EXPECT_FALSE(haul.ended);
  queue.take(haul, milliseconds{0});
  EXPECT_TRUE(haul.events.empty());
}

TEST(ArrivalQueue, TheEndIsToldBehindWhatWasPutAndStaysTold) {
  ArrivalQueue queue;
  queue.put(0, arrival("last", 1));
  queue.end();
  Haul haul;
  queue.take(haul, milliseconds{1000});
  EXPECT_EQ(haul.events.size(), 1U);
  EXPECT_TRUE(haul.ended);
  queue.take(haul, milliseconds{1000});
  EXPECT_TRUE(haul.events.empty());
  EXPECT_TRUE(haul.ended);
}

TEST(ArrivalQueue, IsHighWhileTooMuchWaits) {
  ArrivalQueue queue;
  const std::string megabyte(std::size_t{1} << 20U, 'x');
  for (int i = 0; i < 8; ++i) queue.put(0, arrival(megabyte, 1));
  EXPECT_FALSE(queue.is_high());
  queue.put(0, arrival("x", 1));
  EXPECT_TRUE(queue.is_high());
  Haul haul;
  queue.take(haul, milliseconds{0});
  EXPECT_FALSE(queue.is_high());
}

TEST(ArrivalQueue, LosesNothingBetweenThreads) {
  constexpr std::uint64_t kArrivals = 50'000;
  ArrivalQueue queue;
  std::thread putter{[&] {
    for (std::uint64_t i = 1; i <= kArrivals; ++i) queue.put(0, arrival("octets", i));
    queue.end();
  }};
  Haul haul;
  std::uint64_t next = 1;
  do {
    queue.take(haul, milliseconds{100});
    for (const QueuedEvent& event : haul.events) {
      ASSERT_EQ(std::get<QueuedArrival>(event).ticket, next++);
      ASSERT_EQ(text(haul, event), "octets");
    }
  } while (!haul.ended);
  putter.join();
  EXPECT_EQ(next, kArrivals + 1);
}

}  // namespace
}  // namespace fieldfare::app
