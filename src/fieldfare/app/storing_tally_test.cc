// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/storing_tally.h"

#include <gtest/gtest.h>

#include <memory>

namespace fieldfare::app {
namespace {

TEST(StoringTally, QuantilesAreThoseOfTheSortedTimesRoundedUp) {
  const auto tally = std::make_unique<StoringTally>();
  for (int ms = 1; ms <= 100; ++ms) tally->add({ms * 1'000'000LL - 500'000});
  const StoringTimes times = tally->times();
  EXPECT_EQ(times.hearings, 100U);
  EXPECT_EQ(times.median_ms, 50);
  EXPECT_EQ(times.p99_ms, 99);
  EXPECT_DOUBLE_EQ(times.longest_ms, 99.5);
}

TEST(StoringTally, AClockSetBackCountsAsNoTimeAtAll) {
  const auto tally = std::make_unique<StoringTally>();
  tally->add({-5});
  EXPECT_EQ(tally->times().p99_ms, 0);
}

TEST(StoringTally, NothingCountedHasNoTimes) {
  EXPECT_EQ(std::make_unique<StoringTally>()->times().hearings, 0U);
}

}  // namespace
}  // namespace fieldfare::app
