// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/number_text.h"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>

#include "fieldfare/base/random.h"

namespace fieldfare {
namespace {

TEST(NumberText, IsTheShortestThatReadsBack) {
  EXPECT_EQ(number_text(0.1), "0.1");
  EXPECT_EQ(number_text(30.863), "30.863");
  EXPECT_EQ(number_text(-3), "-3");
  EXPECT_EQ(number_text(1.0 / 3), "0.3333333333333333");
  RandomStream random{1, "doubles"};
  for (int i = 0; i < 20'000; ++i) {
    const auto value = std::bit_cast<double>(random.next());
    if (!std::isfinite(value)) continue;
    ASSERT_EQ(parse_number(number_text(value)), value);
  }
}

TEST(ParseNumber, TakesFiniteDecimalNumbersOnly) {
  EXPECT_EQ(parse_number("-3"), -3.0);
  EXPECT_EQ(parse_number("+.5"), 0.5);
  EXPECT_EQ(parse_number("6.02e23"), 6.02e23);
  for (const char* text : {"", "+", "-", "+-1", "1 ", " 1", "1,5", "0x10", "nan", "inf", "-inf",
                           "1e999", "1e", "1.2.3", "12h"}) {
    EXPECT_FALSE(parse_number(text)) << text;
  }
}

TEST(HalfOfLastDigit, IsHowExactANumberIsMeant) {
  EXPECT_DOUBLE_EQ(half_of_last_digit("21.4"), 0.05);
  EXPECT_DOUBLE_EQ(half_of_last_digit("48"), 0.5);
  EXPECT_DOUBLE_EQ(half_of_last_digit("-3.250"), 0.0005);
  EXPECT_DOUBLE_EQ(half_of_last_digit("1.2e2"), 5);
}

}  // namespace
}  // namespace fieldfare
