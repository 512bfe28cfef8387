// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/odds.h"

#include <gtest/gtest.h>

#include <cmath>

namespace fieldfare::learn {
namespace {

TEST(Odds, AreTheNumberOfBitsWhereAllTrialsSucceed) {
  EXPECT_NEAR(bits_against_chance(1, 1, 8), 8, 1e-9);
  EXPECT_NEAR(bits_against_chance(5, 5, 16), 80, 1e-9);
}

// Exact tail of the binomial distribution, summed term by term.
TEST(Odds, NeverClaimMoreThanTheBinomialTailAllows) {
  for (int of = 1; of <= 30; ++of) {
    for (int held = 1; held <= of; ++held) {
      const double p = 1.0 / 256;
      double tail = 0;
      double ways = 1;
      for (int k = 0; k <= of; ++k) {
        if (k >= held) tail += ways * std::pow(p, k) * std::pow(1 - p, of - k);
        ways = ways * (of - k) / (k + 1);
      }
      EXPECT_LE(
          bits_against_chance(static_cast<std::size_t>(held), static_cast<std::size_t>(of), 8),
          -std::log2(tail) + 1e-9);
    }
  }
}

TEST(Odds, CallCertainWhatChanceDoesLessThanOnceInAMillion) {
  EXPECT_EQ(sureness_of(std::log2(1.01e6)), Sureness::certain);
  EXPECT_EQ(sureness_of(std::log2(0.99e6)), Sureness::likely);
  EXPECT_EQ(sureness_of(std::log2(101)), Sureness::likely);
  EXPECT_EQ(sureness_of(std::log2(99)), Sureness::guess);
}

}  // namespace
}  // namespace fieldfare::learn
