// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/reminders.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include <filesystem>

namespace fieldfare::app {
namespace {

namespace fs = std::filesystem;

TEST(Reminders, StayInTheStoreUntilTheyAreTold) {
  const fs::path file =
      fs::temp_directory_path() / ("fieldfare-reminders-" + std::to_string(::getpid()) + ".db");
  fs::remove(file);
  fleet::Labels labels;
  auto store = store::Store::open(file, store::Mode::write);
  ASSERT_TRUE(store);
  const KeptReminder later{Instant{2'000'000'000}, "02AA5CE7", "look at its delivery"};
  const KeptReminder sooner{Instant{1'000'000'000}, "02AA0003", "look at its delivery"};
  ASSERT_TRUE(keep_reminder(*store, labels, later));
  ASSERT_TRUE(keep_reminder(*store, labels, sooner));
  auto open = open_reminders(*store, labels);
  ASSERT_TRUE(open);
  ASSERT_EQ(open->size(), 2U);
  EXPECT_EQ(open->front().about, "02AA0003");
  ASSERT_TRUE(close_reminder(*store, labels, open->front()));
  open = open_reminders(*store, labels);
  ASSERT_TRUE(open);
  ASSERT_EQ(open->size(), 1U);
  EXPECT_EQ(open->front().about, "02AA5CE7");
  EXPECT_EQ(open->front().due, later.due);
  fs::remove(file);
}

}  // namespace
}  // namespace fieldfare::app
