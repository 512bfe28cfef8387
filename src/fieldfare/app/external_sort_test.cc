// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/external_sort.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <utility>
#include <vector>

#include "fieldfare/base/random.h"

namespace fieldfare::app {
namespace {

using Keys = std::vector<std::pair<fleet::NodeIndex, std::int64_t>>;

NodeEntry entry(std::uint32_t node, std::int64_t time_ns) {
  NodeEntry made{};
  made.node = fleet::NodeIndex{node};
  made.entry.time_ns = time_ns;
  return made;
}

Keys drained(ExternalSort& sort) {
  Keys keys;
  EXPECT_TRUE(sort.drain([&](fleet::NodeIndex node, const evidence::Entry& heard) {
    keys.emplace_back(node, heard.time_ns);
  }));
  return keys;
}

TEST(ExternalSort, GivesTheSameOrderInMemoryAndThroughTheFile) {
  RandomStream random{7, "external-sort"};
  std::vector<NodeEntry> entries;
  Keys expected;
  for (int i = 0; i < 30'000; ++i) {
    const auto node = static_cast<std::uint32_t>(random.below(5));
    const auto time = static_cast<std::int64_t>(random.below(1000));
    entries.push_back(entry(node, time));
    expected.emplace_back(fleet::NodeIndex{node}, time);
  }
  std::sort(expected.begin(), expected.end());
  // In memory; in pieces of which the last is not full; in pieces of several blocks.
  for (const std::size_t most : {100'000U, 999U, 10'000U}) {
    ExternalSort sort{most};
    for (const NodeEntry& one : entries) ASSERT_TRUE(sort.add(one.node, one.entry));
    EXPECT_EQ(drained(sort), expected) << most;
  }
}

TEST(ExternalSort, OfNothingGivesNothing) {
  ExternalSort sort;
  EXPECT_TRUE(drained(sort).empty());
}

TEST(EntrySpool, GivesBackWhatCameInItsOrder) {
  EntrySpool spool;
  for (std::int64_t i = 0; i < 10'000; ++i) {
    const NodeEntry one = entry(static_cast<std::uint32_t>(i % 3), -i);
    ASSERT_TRUE(spool.add(one.node, one.entry));
  }
  std::int64_t next = 0;
  ASSERT_TRUE(spool.for_each([&](fleet::NodeIndex node, const evidence::Entry& heard) {
    EXPECT_EQ(heard.time_ns, -next);
    EXPECT_EQ(node, fleet::NodeIndex{static_cast<std::uint32_t>(next % 3)});
    ++next;
  }));
  EXPECT_EQ(next, 10'000);
}

TEST(EntrySpool, OfNothingGivesNothing) {
  EntrySpool spool;
  EXPECT_TRUE(spool.for_each([](fleet::NodeIndex, const evidence::Entry&) { FAIL(); }));
}

}  // namespace
}  // namespace fieldfare::app
