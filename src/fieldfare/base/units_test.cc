// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/units.h"

#include <gtest/gtest.h>

#include <type_traits>

namespace fieldfare {
namespace {

template <class A, class B>
concept Addable = requires(A a, B b) { a + b; };

static_assert(!Addable<Dbm, Dbm>, "adding two power levels in dBm is meaningless");
static_assert(!Addable<Volts, Decibels>);
static_assert(!std::is_convertible_v<double, Dbm>, "a bare number has no unit");
static_assert(!std::is_convertible_v<Dbm, Decibels>);

TEST(Units, TheMarginIsTheLevelLessTheSensitivity) {
  const Dbm level = Dbm{-3} + Decibels{2} - Decibels{89};
  EXPECT_EQ((level - Dbm{-97}), Decibels{7});
  EXPECT_EQ(Decibels{7} - Decibels{10}, Decibels{-3});
  EXPECT_LT(Dbm{-97}, level);
}

}  // namespace
}  // namespace fieldfare
