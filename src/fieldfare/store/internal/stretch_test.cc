// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/store/internal/stretch.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <bit>
#include <fstream>
#include <limits>
#include <sstream>
#include <string>
#include <vector>

#include "fieldfare/base/random.h"

namespace fieldfare::store {
namespace {

std::vector<Row> unpacked(const std::string& packed) {
  StretchReader reader{packed, nullptr};
  std::vector<Row> rows;
  for (Row row; reader.next(row); row = {}) rows.push_back(row);
  EXPECT_FALSE(reader.damaged());
  return rows;
}

double random_measure(RandomStream& random) {
  switch (random.below(6)) {
    case 0:
      return -static_cast<double>(random.below(120));
    case 1:
      return static_cast<double>(random.below(40'000)) / 1000;
    case 2:
      return random.normal() * 1e3;
    case 3:
      return std::numeric_limits<double>::max();
    case 4:
      return -std::numeric_limits<double>::infinity();
    default:
      return 1e9 - 1 + static_cast<double>(random.below(3));
  }
}

std::int64_t random_time(RandomStream& random) {
  return random.bernoulli(0.1) ? std::bit_cast<std::int64_t>(random.next())
                               : static_cast<std::int64_t>(random.below(1'000'000'000'000));
}

Row random_row(RandomStream& random, std::int64_t arrival) {
  Row row;
  row.arrival = arrival;
  row.node = static_cast<std::uint32_t>(random.below(20));
  row.receiver = static_cast<std::uint32_t>(random.below(300));
  row.time_ns = random_time(random);
  row.has = static_cast<std::uint8_t>(random.below(16));
  if (row.has & Row::kHasSequence) {
    row.sequence = random.bernoulli(0.1) ? random.next() : random.below(256);
  }
  if (row.has & Row::kHasArrivedAt) row.arrived_ns = random_time(random);
  row.measured = static_cast<std::uint8_t>(random.below(1U << Row::kMeasures));
  for (unsigned i = 0; i < Row::kMeasures; ++i) {
    if (row.measured >> i & 1U) row.measures[i] = random_measure(random);
  }
  return row;
}

std::vector<Row> random_rows(std::uint64_t seed) {
  RandomStream random{seed, "rows"};
  std::vector<Row> rows;
  std::int64_t arrival = 1 + static_cast<std::int64_t>(random.below(1'000'000));
  for (auto count = random.below(500); count > 0; --count) {
    arrival += 1 + static_cast<std::int64_t>(random.below(3));
    rows.push_back(random_row(random, arrival));
  }
  return rows;
}

void sort_by_node(std::vector<Row>& rows) {
  std::stable_sort(rows.begin(), rows.end(),
                   [](const Row& a, const Row& b) { return a.node < b.node; });
}

TEST(Stretch, GivesBackEveryRowExactlyByNode) {
  for (std::uint64_t seed = 0; seed < 200; ++seed) {
    std::vector<Row> rows = random_rows(seed);
    const std::string packed = pack_stretch(rows);
    sort_by_node(rows);
    ASSERT_EQ(unpacked(packed), rows) << "seed " << seed;
  }
}

TEST(Stretch, PassesOverNodesThatAreNotWanted) {
  std::vector<Row> rows = random_rows(3);
  const std::string packed = pack_stretch(rows);
  const std::unordered_set<std::uint32_t> wanted{2, 11, 4711};
  std::erase_if(rows, [&](const Row& row) { return !wanted.contains(row.node); });
  sort_by_node(rows);
  StretchReader reader{packed, &wanted};
  std::vector<Row> found;
  for (Row row; reader.next(row); row = {}) found.push_back(row);
  EXPECT_FALSE(rows.empty());
  EXPECT_EQ(found, rows);
}

TEST(Stretch, CutShortAnywhereIsDamagedUnlessBetweenNodes) {
  const std::vector<Row> rows = random_rows(5);
  const std::string packed = pack_stretch(rows);
  std::size_t undamaged = 0;
  for (std::size_t length = 0; length < packed.size(); ++length) {
    const std::string cut =
        packed.substr(0, length);  // its own memory, so that reading past it shows
    StretchReader reader{cut, nullptr};
    std::size_t count = 0;
    for (Row row; reader.next(row);) ++count;
    EXPECT_LE(count, rows.size());
    if (!reader.damaged()) ++undamaged;
  }
  EXPECT_LE(undamaged, 20) << "one place before each node's first row";
}

TEST(Stretch, OfAnyBytesIsReadWithoutReadingOutside) {
  const std::string packed = pack_stretch(random_rows(6));
  RandomStream random{7, "damage"};
  for (int round = 0; round < 2000; ++round) {
    std::string broken = packed;
    for (int flips = 0; flips < 5; ++flips) {
      broken[random.below(broken.size())] = static_cast<char>(random.below(256));
    }
    StretchReader reader{broken, nullptr};
    std::size_t count = 0;
    for (Row row; reader.next(row);) ++count;
    EXPECT_LE(count, broken.size());
  }
}

/// The bytes in hex that the page shows as the worked example, its last block.
std::string documented_example() {
  std::ifstream page{FIELDFARE_SOURCE_DIR "/docs/formats/store.md"};
  std::string line;
  std::string shown;
  for (std::string before; std::getline(page, line); before = line) {
    if (before == "```") shown = line;
  }
  std::string bytes;
  std::istringstream hex{shown};
  for (unsigned byte = 0; hex >> std::hex >> byte;) bytes += static_cast<char>(byte);
  return bytes;
}

// Put together by hand from the layout described there.
TEST(Stretch, IsLaidOutAsDocumented) {
  Row first;
  first.arrival = 1;
  first.node = 3;
  first.receiver = 1;
  first.time_ns = 1'000'000'000;
  first.has = Row::kHasSequence;
  first.sequence = 7;
  first.measured = 1U << Row::kRssi | 1U << Row::kSupply;
  first.measures[Row::kRssi] = -87;
  first.measures[Row::kSupply] = 2.987;
  Row second;
  second.arrival = 3;
  second.node = 3;
  second.receiver = 2;
  second.time_ns = 1'000'000'001;
  EXPECT_EQ(pack_stretch(std::vector<Row>{first, second}), documented_example());
}

}  // namespace
}  // namespace fieldfare::store
