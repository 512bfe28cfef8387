// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/conversion.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <cmath>

#include "fieldfare/base/number_text.h"
#include "fieldfare/wire/internal/real_roots.h"

namespace fieldfare::wire {
namespace {

using fleet::Conversion;

TEST(Linear, GivesTheDecimalNumberThatWasMeant) {
  // Expected: what stands on paper when the digits are multiplied by hand.
  struct Row {
    double raw, scale, offset;
    const char* text;
  };
  constexpr Row kRows[] = {
      {2140, 0.01, 0, "21.4"},
      {2139, 0.01, 0, "21.39"},
      {-1860, 0.01, 0, "-18.6"},
      {3, 0.1, 0, "0.3"},
      {29455, 0.01, -273.15, "21.4"},
      {7, 0.3, 0, "2.1"},
      {614, 0.1, -40, "21.4"},
      {1234, 0.0625, 0, "77.125"},
      {87, -1, 0, "-87"},
      {12345, 2.5, 0.125, "30862.625"},
      {90, 1.0 / 30, 0, "3"},
      {1, 1e-3, 2, "2.001"},
  };
  for (const Row& row : kRows) {
    EXPECT_EQ(number_text(Linear(row.scale, row.offset)(row.raw)), row.text);
  }
}

TEST(Linear, TakesAnyScaleAndOffsetWithinRounding) {
  EXPECT_TRUE(rc::check([] {
    const double scale =
        *rc::gen::inRange(1, 1'000'000) * std::exp2(*rc::gen::inRange(-60, 20)) / 7;
    const double offset = *rc::gen::inRange(-1'000'000, 1'000'000) / 13.0;
    const double raw = *rc::gen::inRange(-70'000, 70'000);
    const double expected = raw * scale + offset;
    const double size = std::abs(raw * scale) + std::abs(offset);
    RC_ASSERT(std::abs(Linear(scale, offset)(raw) - expected) <= 1e-15 * size);
  }));
}

TEST(Linear, IsUndoneToTheWholeNumberThatWasSent) {
  EXPECT_TRUE(rc::check([] {
    const double scale = *rc::gen::element(0.01, 0.1, 0.0625, 0.05, 1.0 / 3, 0.3, 17.0, -0.5);
    const double offset = *rc::gen::element(0.0, -40.0, -273.15, 0.7, 1000.0);
    const double raw = *rc::gen::inRange(-2'000'000'000, 2'000'000'000);
    const Linear linear{scale, offset};
    RC_ASSERT(std::round(linear.inverse(linear(raw))) == raw);
  }));
}

TEST(Conversion, ReadsAPt100ThroughItsScale) {
  // IEC 60751:2022 (coefficients as quoted in public copies): 138.51 ohm at 100
  // degrees and 18.52 at -200, rounded to the 0.01 ohm that the raw number has.
  const Conversion pt100{0.01, 0, fleet::Pt100Sensor{}};
  EXPECT_NEAR(*convert(pt100, 13'851).value, 100, 0.02);
  EXPECT_NEAR(*convert(pt100, 17'586).value, 200, 0.02);
  EXPECT_NEAR(*convert(pt100, 8'031).value, -50, 0.02);
  EXPECT_EQ(convert(pt100, 10'000).value, 0);
  EXPECT_EQ(convert(pt100, 13'851).scaled, 138.51);
}

TEST(Conversion, TakesNoTemperatureFromAnImpossibleResistance) {
  const Conversion pt100{1, 0, fleet::Pt100Sensor{}};
  for (const double ohm : {-5.0, 0.0, 0.5, 18.0, 391.0, 701.0, 1e9}) {
    EXPECT_FALSE(convert(pt100, ohm).value) << ohm;
  }
  // Steinhart & Hart (1968), with the coefficients of the next test.
  const Conversion ntc{1, 0, fleet::ThermistorSensor{1.129148e-3, 2.34125e-4, 8.76741e-8}};
  EXPECT_FALSE(convert(ntc, 0).value);
  EXPECT_FALSE(convert(ntc, -10).value);
}

TEST(Conversion, ReadsAThermistor) {
  // 1/T = A + B ln R + C (ln R)^3 worked out independently: 24.9997 degrees at 10
  // kilohm, 41.572 at 5.
  const Conversion ntc{10, 0, fleet::ThermistorSensor{1.129148e-3, 2.34125e-4, 8.76741e-8}};
  EXPECT_NEAR(*convert(ntc, 1000).value, 24.9997, 0.001);
  EXPECT_NEAR(*convert(ntc, 500).value, 41.572, 0.001);
}

TEST(Conversion, TellsWhatALoopSaysBesideItsValue) {
  // NAMUR NE 43 as quoted in public copies: measurement 3.8 to 20.5 mA, failure at
  // 3.6 and below, 21 and above. 12 mA is the middle of the span, exactly.
  using physics::LoopState;
  const Conversion loop{0.001, 0, fleet::LoopSensor{0, 250}};
  const auto at = [&](double microamperes) { return convert(loop, microamperes); };
  EXPECT_EQ(at(12'000).value, 125);
  EXPECT_EQ(at(4'000).value, 0);
  EXPECT_EQ(at(20'000).value, 250);
  EXPECT_EQ(at(20'000).loop, LoopState::ok);
  EXPECT_TRUE(at(3'800).value);
  EXPECT_TRUE(at(20'500).value);
  for (const auto& [microamperes, state] : {std::pair{0.0, LoopState::failed_low},
                                            {3'600.0, LoopState::failed_low},
                                            {3'601.0, LoopState::saturated_low},
                                            {3'799.0, LoopState::saturated_low},
                                            {20'501.0, LoopState::saturated_high},
                                            {20'999.0, LoopState::saturated_high},
                                            {21'000.0, LoopState::failed_high}}) {
    EXPECT_EQ(at(microamperes).loop, state) << microamperes;
    EXPECT_FALSE(at(microamperes).value) << microamperes;
    EXPECT_EQ(at(microamperes).scaled, microamperes / 1000);
  }
}

TEST(Conversion, SendsALoopAtTheEndsOfItsRange) {
  for (const double high : {100.0, 6.3, -1e-3}) {
    const Conversion loop{0.001, 0, fleet::LoopSensor{0.7, high}};
    for (const double raw : {3'800.0, 20'500.0}) {
      const auto back = unconvert(loop, convert(loop, raw).value.value());
      ASSERT_TRUE(back) << high;
      EXPECT_EQ(std::round(*back), raw);
    }
  }
}

TEST(Conversion, TakesAPolynomialOfTheScaledNumber) {
  const Conversion squared{0.5, 1, fleet::Polynomial{{3, 0, 2}}};
  EXPECT_EQ(convert(squared, 6).value, 3 + 2 * 4 * 4);
}

TEST(Conversion, IsUndoneToABillionthOfTheReading) {
  const Conversion kinds[] = {
      {0.01, 0, fleet::Pt100Sensor{}},
      {1, 0, fleet::ThermistorSensor{1.129148e-3, 2.34125e-4, 8.76741e-8}},
      {0.001, 0, fleet::LoopSensor{-50, 150}},
      {0.1, -40, std::monostate{}},
      {1, 0, fleet::Polynomial{{-12.5, 0.75, 0, 2e-6}}},
      {1, 0, fleet::Polynomial{{4, -0.25}}},
  };
  EXPECT_TRUE(rc::check([&] {
    const Conversion& kind = kinds[*rc::gen::inRange<std::size_t>(0, std::size(kinds))];
    const double raw = *rc::gen::inRange(4'000, 20'000);
    const auto converted = convert(kind, raw);
    RC_ASSERT(converted.value.has_value());
    const auto back = unconvert(kind, *converted.value);
    RC_ASSERT(back.has_value());
    RC_ASSERT(std::abs(*back - raw) <= 1e-6 * raw);
    RC_ASSERT(std::abs(*convert(kind, *back).value - *converted.value) <=
              1e-9 * std::max(1.0, std::abs(*converted.value)));
  }));
}

TEST(Conversion, FindsNoNumberForAReadingThatNoneGives) {
  EXPECT_FALSE(unconvert({1, 0, fleet::Polynomial{{1, 0, 1}}}, 0));
  EXPECT_FALSE(unconvert({1, 0, fleet::Pt100Sensor{}}, 900));
  EXPECT_FALSE(unconvert({1, 0, fleet::LoopSensor{0, 100}}, 150));
}

TEST(RealRoots, AreThoseThePolynomialWasMadeOf) {
  // (x + 2)(x - 1)(x - 5) = x^3 - 4x^2 - 7x + 10, multiplied by hand.
  const auto roots = real_roots({10, -7, -4, 1});
  ASSERT_EQ(roots.size(), 3U);
  EXPECT_NEAR(roots[0], -2, 1e-12);
  EXPECT_NEAR(roots[1], 1, 1e-12);
  EXPECT_NEAR(roots[2], 5, 1e-12);
  EXPECT_TRUE(real_roots({1, 0, 1}).empty());
  EXPECT_TRUE(real_roots({0}).empty());
}

}  // namespace
}  // namespace fieldfare::wire
