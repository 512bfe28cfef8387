// SPDX-License-Identifier: Apache-2.0
#include "kit.h"

#include <gtest/gtest.h>

#include <numeric>

#include "log_text.h"
#include "year.h"

namespace fieldfare::truth {
namespace {

std::vector<int> numbers(int count) {
  std::vector<int> result(static_cast<std::size_t>(count));
  std::iota(result.begin(), result.end(), 0);
  return result;
}

TEST(Kit, ShufflingKeepsEveryRow) {
  Dice dice{1};
  std::vector<int> rows = shuffled(numbers(100), dice);
  EXPECT_NE(rows, numbers(100));
  std::ranges::sort(rows);
  EXPECT_EQ(rows, numbers(100));
}

TEST(Kit, ShufflingWithinAWindowDisplacesByFewerRows) {
  Dice dice{1};
  const std::vector<int> rows = shuffled_within(numbers(1000), 8, dice);
  EXPECT_NE(rows, numbers(1000));
  for (int i = 0; i < 1000; ++i) EXPECT_LT(std::abs(rows[static_cast<std::size_t>(i)] - i), 8);
}

TEST(Kit, DealtAndCutFilesHoldAllRowsInOrder) {
  Dice dice{1};
  std::vector<int> together;
  for (const std::vector<int>& file : dealt(numbers(100), 4, dice)) {
    EXPECT_TRUE(std::ranges::is_sorted(file));
    together.insert(together.end(), file.begin(), file.end());
  }
  std::ranges::sort(together);
  EXPECT_EQ(together, numbers(100));

  together.clear();
  const std::vector<std::vector<int>> pieces = cut(numbers(100), 4, dice);
  EXPECT_EQ(pieces.size(), 4U);
  for (const std::vector<int>& piece : pieces) {
    together.insert(together.end(), piece.begin(), piece.end());
  }
  EXPECT_EQ(together, numbers(100));
}

TEST(Kit, DuplicationAddsRowsAfterTheirOriginals) {
  Dice dice{1};
  const std::vector<int> rows = duplicated(numbers(1000), 0.1, dice);
  EXPECT_GT(rows.size(), 1050U);
  EXPECT_LT(rows.size(), 1150U);
  std::vector<int> firsts;
  for (const int row : rows) {
    if (std::ranges::find(firsts, row) == firsts.end()) firsts.push_back(row);
  }
  EXPECT_EQ(firsts, numbers(1000));
}

TEST(LogText, TimesAreReadAsTheyWereWritten) {
  for (const std::int64_t ns : {std::int64_t{0}, std::int64_t{1'767'571'200'123'456'789},
                                std::int64_t{951'782'400'000'000'000}}) {
    std::string text;
    append_time(ns, text);
    EXPECT_EQ(read_time(text), ns) << text;
  }
  // 10^9 s after the epoch is 2001-09-09T01:46:40Z (well known; from memory).
  std::string text;
  append_time(1'000'000'000'000'000'000, text);
  EXPECT_EQ(text, "2001-09-09T01:46:40.000000000Z");
  EXPECT_EQ(read_time("2001-09-09T01:46:40Z"), 1'000'000'000'000'000'000);
  EXPECT_EQ(read_time("2001-09-09T01:46:40.5Z"), 1'000'000'000'500'000'000);
  EXPECT_FALSE(read_time("2001-09-09 01:46:40"));
}

TEST(LogText, RowsBecomeLinesOfTheLogFormat) {
  const std::vector<Row> rows = {{1'000'000'000'000'000'000, 11, 1, 65535, -81}};
  EXPECT_EQ(csv_text(rows),
            "time,node,receiver,seq,rssi_dbm\n"
            "2001-09-09T01:46:40.000000000Z,020000000000000B,r2,65535,-81\n");
}

TEST(Year, HasTheStatedNumberOfHearingsInOrderOfTime) {
  std::int64_t before = 0;
  bool in_order = true;
  const std::uint64_t hearings = stream_year({.days = 36}, [&](const YearRow& row) {
    in_order = in_order && row.time_ns >= before;
    before = row.time_ns;
  });
  EXPECT_TRUE(in_order);
  // 200 nodes, 2 receivers, 5 % lost: sum of the rates by hand 0.170417 reports/s.
  const double expected = 0.170417 * 36 * 86400 * 2 * 0.95;
  EXPECT_NEAR(static_cast<double>(hearings) / expected, 1, 0.002);
  EXPECT_NEAR(expected / 36 * 365, 10.2e6, 0.02e6);
}

TEST(Year, RowsBecomeLinesOfBothLogFormats) {
  const YearRow row{1'000'000'000'000'000'000, 0, 0, 7, -80, 6.25, 11.5, 80};
  std::string text;
  append_year_csv(row, text);
  EXPECT_EQ(text, "2001-09-09T01:46:40.000000000Z,0200000000000000,r1,7,-80,6.25,11.5,80\n");
  text.clear();
  append_year_json(row, text);
  EXPECT_EQ(text, R"({"time":"2001-09-09T01:46:40.000000000Z","node":"0200000000000000",)"
                  R"("receiver":"r1","seq":7,"rssi_dbm":-80,"snr_db":6.25,"temperature_c":11.5,)"
                  R"("humidity_pct":80})"
                  "\n");
}

}  // namespace
}  // namespace fieldfare::truth
