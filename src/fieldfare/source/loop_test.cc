// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/loop.h"

#include <gtest/gtest.h>

#include <csignal>
#include <thread>

namespace fieldfare::source {
namespace {

TEST(Loop, ServesTasksOfOtherThreadsUntilOneStopsIt) {
  Loop loop;
  int done = 0;
  std::thread other{[&] {
    loop.post([&] { ++done; });
    loop.post([&] { ++done; });
    loop.post([&] { loop.stop(); });
  }};
  loop.run();
  other.join();
  EXPECT_EQ(done, 2);
}

TEST(Loop, RepeatsATaskUntilItStops) {
  Loop loop;
  int beats = 0;
  loop.every(Duration::seconds(0.001), [&] {
    if (++beats == 5) loop.stop();
  });
  loop.run();
  EXPECT_EQ(beats, 5);
}

TEST(Loop, IsToldThatTheProcessIsAskedToEnd) {
  for (const int signal : {SIGINT, SIGTERM}) {
    Loop loop;
    loop.on_end_signal([&] { loop.stop(); });
    loop.post([=] { (void)std::raise(signal); });
    loop.run();
  }
}

TEST(LoopDeathTest, WhoeverAsksTwiceEndsTheProcess) {
  EXPECT_EXIT(
      {
        Loop loop;
        loop.on_end_signal([&] { (void)std::raise(SIGTERM); });
        loop.post([] { (void)std::raise(SIGTERM); });
        loop.run();
      },
      testing::KilledBySignal(SIGTERM), "");
}

}  // namespace
}  // namespace fieldfare::source
