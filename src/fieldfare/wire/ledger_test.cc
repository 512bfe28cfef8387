// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/ledger.h"

#include <gtest/gtest.h>

namespace fieldfare::wire {
namespace {

SkippedRow row_at(std::size_t line, const std::string& reason) {
  return {{"a.csv", line, 0}, reason, "what", "expected", "excerpt"};
}

TEST(Ledger, BalancesAfterEveryRow) {
  Ledger ledger;
  ledger.accept();
  ledger.skip(row_at(3, "bad-time"));
  ledger.skip_unquoted("bad-time");
  ledger.accept();
  EXPECT_EQ(ledger.rows_read(), 4u);
  EXPECT_EQ(ledger.rows_accepted(), 2u);
  EXPECT_EQ(ledger.rows_skipped(), 2u);
  EXPECT_EQ(ledger.skipped_by_reason(), (Ledger::Counts{{"bad-time", 2}}));
}

TEST(Ledger, KeepsTheFirstRowsAndCountsTheRest) {
  Ledger ledger{2};
  for (std::size_t line = 1; line <= 5; ++line) ledger.skip(row_at(line, "no-node"));
  ASSERT_EQ(ledger.quoted().size(), 2u);
  EXPECT_EQ(ledger.quoted()[1].place.line, 2u);
  EXPECT_EQ(ledger.rows_skipped(), 5u);
  EXPECT_FALSE(ledger.has_room());
}

TEST(Ledger, MergedIsAsIfReadInOne) {
  Ledger first{3}, second{3};
  first.accept();
  first.skip(row_at(1, "bad-time"));
  second.skip(row_at(2, "bad-time"));
  second.skip(row_at(3, "no-node"));
  second.skip(row_at(4, "no-node"));
  first.merge(second);
  EXPECT_EQ(first.rows_read(), 5u);
  EXPECT_EQ(first.skipped_by_reason(), (Ledger::Counts{{"bad-time", 2}, {"no-node", 2}}));
  ASSERT_EQ(first.quoted().size(), 3u);
  EXPECT_EQ(first.quoted()[2].place.line, 3u);
}

}  // namespace
}  // namespace fieldfare::wire
