// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/evidence/internal/activity.h"

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "fieldfare/evidence/internal/archive.h"
#include "fieldfare/evidence/test_support.h"

namespace fieldfare::evidence::internal {
namespace {

std::vector<std::int64_t> quiet_seconds(const Activity& activity) {
  std::vector<std::int64_t> result;
  for (const Activity::Quiet& quiet : activity.quiet()) {
    result.push_back(quiet.from.ns / kSecondNs);
    result.push_back(quiet.to.ns / kSecondNs);
  }
  return result;
}

void mark(Activity& activity, std::int64_t second) {
  activity.mark({second * kSecondNs + 123'456'789});
}

TEST(Activity, TellsStretchesWithAWholeMinuteOfSilenceToTheSecond) {
  Activity activity;
  for (const std::int64_t second : {60, 75, 119, 180, 239, 305, 600}) mark(activity, second);
  // 119 to 180 spans the whole minute from 120; 239 to 305 spans that from 240;
  // 305 to 600 several.
  EXPECT_EQ(quiet_seconds(activity), (std::vector<std::int64_t>{119, 180, 239, 305, 305, 600}));
}

TEST(Activity, KnowsNoSilenceWithinTwoNeighbouringMinutes) {
  Activity activity;
  mark(activity, 60);
  mark(activity, 179);
  EXPECT_TRUE(activity.quiet().empty());
}

TEST(Activity, SaysNothingOfBeforeTheFirstAndAfterTheLastHearing) {
  Activity activity;
  EXPECT_TRUE(activity.quiet().empty());
  mark(activity, 1'000'000);
  EXPECT_TRUE(activity.quiet().empty());
}

TEST(Activity, TellsTheSameWhateverTheOrder) {
  RandomStream random{1, "activity"};
  std::vector<std::int64_t> seconds;
  std::int64_t at = -200'000;  // before 1970, and over days
  seconds.reserve(2000);
  for (int i = 0; i < 2000; ++i)
    seconds.push_back(at += 1 + static_cast<std::int64_t>(random.below(400)));
  Activity in_order;
  for (const std::int64_t second : seconds) mark(in_order, second);
  Activity shuffled_in;
  for (const std::int64_t second : shuffled(seconds, random)) mark(shuffled_in, second);
  EXPECT_EQ(quiet_seconds(in_order), quiet_seconds(shuffled_in));

  // Against a plain search: a stretch counts where a whole minute lies inside.
  std::vector<std::int64_t> expected;
  const auto minute = [](std::int64_t second) { return (second + 60'000'000) / 60; };
  for (std::size_t i = 1; i < seconds.size(); ++i) {
    if (minute(seconds[i]) - minute(seconds[i - 1]) < 2) continue;
    expected.push_back(seconds[i - 1]);
    expected.push_back(seconds[i]);
  }
  EXPECT_EQ(quiet_seconds(in_order), expected);
}

TEST(Activity, TakesLittleRoomForAClockThatIsDecadesOff) {
  Activity activity;
  mark(activity, 0);
  mark(activity, 7'000'000'000);
  StateWriter writer;
  writer(activity);
  EXPECT_LT(writer.take().size(), 10'000U);
  EXPECT_EQ(quiet_seconds(activity), (std::vector<std::int64_t>{0, 7'000'000'000}));
}

TEST(Activity, GoesOnAfterSavingAndRestoring) {
  Activity activity;
  mark(activity, 100);
  mark(activity, 5000);
  StateWriter writer;
  writer(activity);
  const std::string bytes = writer.take();
  StateReader reader{bytes};
  Activity restored;
  reader(restored);
  ASSERT_TRUE(reader.ok() && reader.at_end());
  for (Activity* each : {&activity, &restored}) mark(*each, 100'000);
  EXPECT_EQ(quiet_seconds(restored), quiet_seconds(activity));
}

}  // namespace
}  // namespace fieldfare::evidence::internal
