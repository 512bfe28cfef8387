// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/listening_lock.h"

#include <gtest/gtest.h>

#include <filesystem>

namespace fieldfare::app {
namespace {

TEST(ListeningLock, OneAtATimeAndFreeAgainAfterwards) {
  const auto folder = std::filesystem::temp_directory_path() / "fieldfare-lock-test";
  std::filesystem::create_directories(folder);
  {
    const auto first = ListeningLock::take(folder.string());
    ASSERT_TRUE(first.has_value());
    const auto second = ListeningLock::take(folder.string());
    ASSERT_FALSE(second.has_value());
    EXPECT_EQ(second.error().blame, Blame::machine);
  }
  EXPECT_TRUE(ListeningLock::take(folder.string()).has_value());
  std::filesystem::remove_all(folder);
}

TEST(ListeningLock, AFolderThatIsNotThereIsToldWithTheReason) {
  const auto lock = ListeningLock::take("/nowhere/at/all");
  ASSERT_FALSE(lock.has_value());
  EXPECT_NE(lock.error().complaints.front().text().find("No such file"), std::string::npos);
}

}  // namespace
}  // namespace fieldfare::app
