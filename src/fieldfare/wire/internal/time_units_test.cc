// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/time_units.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>

namespace fieldfare::wire {
namespace {

TimeUnits units(double scale, double offset = 0) {
  return TimeUnits{fleet::Conversion{scale, offset, std::monostate{}}};
}

TEST(TimeUnits, AreExactWhereTheUnitIsAWholeNumberOfNanoseconds) {
  EXPECT_EQ(units(1).ns(RawNumber::of_unsigned(1'772'435'700)), 1'772'435'700'000'000'000);
  EXPECT_EQ(units(0.001).ns(RawNumber::of_unsigned(1'772'435'700'123)), 1'772'435'700'123'000'000);
  EXPECT_EQ(units(1e-6).ns(RawNumber::of_signed(-7)), -7'000);
  EXPECT_EQ(units(60, 30).ns(RawNumber::of_unsigned(2)), 150'000'000'000);
}

TEST(TimeUnits, CountBinaryFractionsToTheNearestNanosecond) {
  // 1/32768 s = 30517.578125 ns; 3 of them 91552.73 ns.
  EXPECT_EQ(units(1.0 / 32768).ns(RawNumber::of_unsigned(3)), 91'553);
  EXPECT_EQ(units(1.0 / 32768).ns(RawNumber::of_unsigned(32'768'000'000'001)),
            1'000'000'000'000'030'518);
}

TEST(TimeUnits, TakeDecimalsOfASecond) {
  EXPECT_EQ(units(1).ns(RawNumber::of_real(1'700'000'000.25)), 1'700'000'000'250'000'000);
}

TEST(TimeUnits, GiveNothingBeyondTheRangeOfAnInstant) {
  EXPECT_FALSE(units(1).ns(RawNumber::of_unsigned(10'000'000'000)));
  EXPECT_FALSE(units(1).ns(RawNumber::of_real(1e300)));
  EXPECT_FALSE(units(1e-9).ns(RawNumber::of_unsigned(0xFFFFFFFFFFFFFFFF)));
  EXPECT_FALSE(units(1e20).ns(RawNumber::of_unsigned(1)));
}

TEST(TimeUnits, AreUndoneToTheNumberThatWasSent) {
  EXPECT_TRUE(rc::check([] {
    const double scale = *rc::gen::element(1.0, 0.001, 1e-6, 60.0, 1.0 / 32768, 1.0 / 3, 0.1);
    const double offset = *rc::gen::element(0.0, 1.5, -86'400.0);
    const std::int64_t raw =
        *rc::gen::inRange<std::int64_t>(-4'000'000'000, 4'000'000'000) / (scale > 1 ? 60 : 1);
    const TimeUnits sent = units(scale, offset);
    const auto ns = sent.ns(RawNumber::of_signed(raw));
    RC_ASSERT(ns.has_value());
    const auto back = sent.raw(*ns);
    RC_ASSERT(back.has_value());
    RC_ASSERT(back->equals(raw));
  }));
}

}  // namespace
}  // namespace fieldfare::wire
