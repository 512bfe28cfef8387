// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/evidence/internal/reorder_window.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "fieldfare/evidence/internal/archive.h"
#include "fieldfare/evidence/test_support.h"

namespace fieldfare::evidence::internal {
namespace {

constexpr std::size_t kWindow = ReorderWindow::kReorderWindow;

/// Feeds a window and keeps what comes out of it.
struct Feed {
  ReorderWindow window;
  std::vector<Entry> gone_on;

  bool push(const Entry& entry) {
    std::optional<Entry> out;
    const bool taken = window.push(entry, out);
    if (out) gone_on.push_back(*out);
    return taken;
  }
  /// All that came out, then all that waits.
  std::vector<Entry> all() const {
    std::vector<Entry> result = gone_on;
    for (std::size_t i = 0; i < window.size(); ++i) result.push_back(window.at(i));
    return result;
  }
};

std::vector<Entry> ascending(std::size_t count) {
  std::vector<Entry> rows;
  for (std::size_t i = 0; i < count; ++i) {
    rows.push_back(
        numbered(static_cast<std::int64_t>(i) * kSecondNs, static_cast<std::uint32_t>(i)));
  }
  return rows;
}

TEST(ReorderWindow, HoldsRowsBackUntilAsManyLaterOnesHaveCome) {
  Feed feed;
  for (const Entry& row : ascending(kWindow)) feed.push(row);
  EXPECT_TRUE(feed.gone_on.empty());
  EXPECT_EQ(feed.window.size(), kWindow);
  feed.push(numbered(1'000'000 * kSecondNs, 7));
  ASSERT_EQ(feed.gone_on.size(), 1U);
  EXPECT_EQ(feed.gone_on[0].time_ns, 0);
}

TEST(ReorderWindow, PutsAnyOrderOfUpToAWindowRight) {
  RandomStream random{1, "window"};
  for (const std::size_t count : {1UL, 2UL, 17UL, 100UL, kWindow}) {
    const auto rows = ascending(count);
    Feed feed;
    for (const Entry& row : shuffled(rows, random)) EXPECT_TRUE(feed.push(row));
    EXPECT_EQ(feed.all(), rows);
  }
}

TEST(ReorderWindow, PutsRowsRightThatAreDisplacedByLessThanTheWindow) {
  RandomStream random{2, "displaced"};
  const auto rows = ascending(5000);
  Feed feed;
  for (std::size_t i = 0; i < rows.size(); i += 250) {
    const std::vector<Entry> part(rows.begin() + static_cast<std::ptrdiff_t>(i),
                                  rows.begin() + static_cast<std::ptrdiff_t>(i + 250));
    for (const Entry& row : shuffled(part, random)) ASSERT_TRUE(feed.push(row));
  }
  EXPECT_EQ(feed.all(), rows);
}

TEST(ReorderWindow, GivesANewcomerOlderThanAllThatWaitStraightOn) {
  Feed feed;
  for (const Entry& row : ascending(kWindow + 1)) feed.push(row);
  // Row 0 has gone on, row 1 is the oldest that waits.
  EXPECT_TRUE(feed.push(numbered(kSecondNs / 2, 9)));
  EXPECT_EQ(feed.gone_on.back().time_ns, kSecondNs / 2);
  EXPECT_EQ(feed.window.size(), kWindow);
}

TEST(ReorderWindow, RefusesARowOlderThanOneThatHasGoneOnAndTakesNothing) {
  Feed feed;
  for (const Entry& row : ascending(kWindow + 10)) feed.push(row);
  const auto before = feed.all();
  EXPECT_FALSE(feed.push(numbered(0, 0)));
  EXPECT_EQ(feed.all(), before);
}

TEST(ReorderWindow, TakesTheRowThatHasJustGoneOnOnceMore) {
  Feed feed;
  for (const Entry& row : ascending(kWindow + 1)) feed.push(row);
  EXPECT_TRUE(feed.push(feed.gone_on.back()));
}

TEST(ReorderWindow, PutsTheHigherOfTwoNumbersFirstWhereTheClockCannotTell) {
  Feed feed;
  feed.push(numbered(0, 3));
  feed.push(numbered(0, 4));
  feed.push(numbered(0, 4, 1));
  EXPECT_EQ(feed.window.at(0).sequence, 4U);
  EXPECT_EQ(feed.window.at(0).receiver, 0U);
  EXPECT_EQ(feed.window.at(1).receiver, 1U);
  EXPECT_EQ(feed.window.at(2).sequence, 3U);
}

TEST(ReorderWindow, GoesOnAfterSavingAndRestoringAsIfNothingHadBeen) {
  RandomStream random{3, "saved"};
  auto rows = ascending(1500);
  for (std::size_t i = 0; i + 100 <= rows.size(); i += 100) {
    std::swap(rows[i], rows[i + 90]);
  }
  Feed whole;
  Feed parted;
  for (const Entry& row : rows) {
    EXPECT_EQ(parted.push(row), whole.push(row));
    if (random.below(20) != 0) continue;
    StateWriter writer;
    writer(parted.window);
    const std::string bytes = writer.take();
    StateReader reader{bytes};
    reader.map_receivers({0});
    parted.window = ReorderWindow{};
    reader(parted.window);
    ASSERT_TRUE(reader.ok() && reader.at_end());
  }
  EXPECT_EQ(parted.all(), whole.all());
}

}  // namespace
}  // namespace fieldfare::evidence::internal
