// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/physics/loop_current.h"

#include <gtest/gtest.h>

namespace fieldfare::physics {
namespace {

std::string_view word(double ma) { return loop_state_word(loop_state(Milliamperes{ma})); }

TEST(LoopCurrent, StatesFollowTheLevelsOfNe43) {
  // Failure at 3.6 mA or less and 21.0 mA or more, measurement 3.8 to 20.5 mA:
  // NAMUR NE 43 as quoted in public copies.
  EXPECT_EQ(word(0), "failed_low");
  EXPECT_EQ(word(3.6), "failed_low");
  EXPECT_EQ(word(3.7), "saturated_low");
  EXPECT_EQ(word(3.8), "ok");
  EXPECT_EQ(word(12), "ok");
  EXPECT_EQ(word(20.5), "ok");
  EXPECT_EQ(word(20.8), "saturated_high");
  EXPECT_EQ(word(21.0), "failed_high");
}

TEST(LoopCurrent, ScalesFourToTwenty) {
  EXPECT_EQ(loop_fraction(Milliamperes{4}), 0);
  EXPECT_EQ(loop_fraction(Milliamperes{12}), 0.5);
  EXPECT_NEAR(loop_fraction(Milliamperes{5.6}), 0.1, 1e-15);
  EXPECT_EQ(loop_fraction(Milliamperes{20}), 1);
}

}  // namespace
}  // namespace fieldfare::physics
