// SPDX-License-Identifier: Apache-2.0
// Scale and offset of a number, from what an instrument said. All values are invented; that
// they agree is arithmetic.
#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "fieldfare/learn/internal/readings.h"

namespace fieldfare::learn {
namespace {

const std::vector<std::string> kLabels = {"02:00:A1:B2", "02:00:A1:C3"};

Instant minute(int at) { return Instant{at * 60'000'000'000LL}; }

InstrumentValue celsius(double value, std::optional<Instant> at = {}, std::string digits = "") {
  return {"temperature_c", value, 0.05, at, std::move(digits)};
}

TEST(Pin, FindsEachUsualScaleFromOneValue) {
  struct Row {
    double raw;
    double value;
    double scale;
    double offset;
  };
  constexpr Row kRows[] = {
      {2140, 21.4, 0.01, 0}, {214, 21.4, 0.1, 0},          {21400, 21.4, 0.001, 0},
      {43, 21.5, 0.5, 0},    {86, 21.5, 0.25, 0},          {107, 21.4, 0.2, 0},
      {428, 21.4, 0.05, 0},  {342, 21.4, 1.0 / 16, 0},     {5478, 21.4, 1.0 / 256, 0},
      {614, 21.4, 0.1, -40}, {29455, 21.4, 0.01, -273.15}, {-730, -7.3, 0.01, 0},
  };
  for (const Row& each : kRows) {
    const std::vector<Sampled> samples = {{0, minute(0), each.raw}};
    const std::vector<InstrumentValue> values = {celsius(each.value)};
    const auto found = pin(samples, values, kLabels);
    ASSERT_TRUE(found) << each.raw;
    EXPECT_EQ(found->scale, each.scale) << each.raw;
    EXPECT_EQ(found->offset, each.offset) << each.raw;
    EXPECT_TRUE(found->scale_is_usual);
    EXPECT_LE(found->misfit, 0.05 + each.scale / 2);
  }
}

TEST(Pin, LooksAtTheNodeByItsDigitsAndAtTheNearestReport) {
  const std::vector<Sampled> samples = {
      {0, minute(0), 1900}, {0, minute(60), 2140}, {1, minute(0), 1500}, {1, minute(60), 300}};
  const std::vector<InstrumentValue> beside_first = {celsius(21.4, minute(61), "b2")};
  ASSERT_TRUE(pin(samples, beside_first, kLabels));
  EXPECT_EQ(pin(samples, beside_first, kLabels)->scale, 0.01);
  const std::vector<InstrumentValue> beside_second = {celsius(21.4, minute(61), "C3")};
  EXPECT_FALSE(pin(samples, beside_second, kLabels)) << "300 is no usual part of 21.4";
  const std::vector<InstrumentValue> beside_unknown = {celsius(21.4, minute(61), "FF")};
  EXPECT_FALSE(pin(samples, beside_unknown, kLabels));
}

TEST(Pin, KnowsANodeByLessThanItsDigits) {
  const std::vector<std::string> known = {"C3", "B2"};
  const std::vector<Sampled> samples = {{0, minute(0), 300}, {1, minute(0), 2140}};
  const std::vector<InstrumentValue> values = {celsius(21.4, minute(0), "A1B2")};
  ASSERT_TRUE(pin(samples, values, known));
  EXPECT_EQ(pin(samples, values, known)->scale, 0.01);
}

TEST(Pin, LooksAFewSecondsAroundTheNearestReport) {
  const Instant later{minute(1).ns + 3'000'000'000};
  const std::vector<Sampled> samples = {{0, minute(1), 3276}, {0, later, 3171}};
  const std::vector<InstrumentValue> values = {
      {"humidity_pct", 31.7, 0.05, Instant{minute(1).ns + 1'400'000'000}, "B2"}};
  ASSERT_TRUE(pin(samples, values, kLabels));
  EXPECT_EQ(pin(samples, values, kLabels)->scale, 0.01);
}

TEST(Pin, PrefersAConversionWithWhichTheNumberCanSayWhatItMust) {
  const std::vector<Sampled> samples = {{0, minute(0), 85}};
  const std::vector<InstrumentValue> values = {celsius(2.6)};
  const auto octet = pin(samples, values, kLabels, {0, 255});
  ASSERT_TRUE(octet);
  EXPECT_EQ(octet->scale, 0.5) << "in 32nds, an octet would end at 8 degrees";
  EXPECT_EQ(octet->offset, -40);
}

TEST(Pin, TakesWhicheverNodeAgreesWhereNobodySaidIt) {
  const std::vector<Sampled> samples = {{0, minute(0), 1500}, {1, minute(0), 2140}};
  const std::vector<InstrumentValue> values = {celsius(21.4)};
  const auto found = pin(samples, values, kLabels);
  ASSERT_TRUE(found);
  EXPECT_EQ(found->scale, 0.01);
  const std::vector<InstrumentValue> said = {celsius(21.4, {}, "C3")};
  EXPECT_GT(pin(samples, said, kLabels)->wonder_bits, found->wonder_bits)
      << "of two nodes one agrees more easily";
}

TEST(Pin, RefusesWhatNoUsualScaleGives) {
  const std::vector<Sampled> samples = {{0, minute(0), 3171}};
  const std::vector<InstrumentValue> values = {celsius(21.4)};
  EXPECT_FALSE(pin(samples, values, kLabels));
  EXPECT_FALSE(pin(samples, std::vector<InstrumentValue>{}, kLabels));
  EXPECT_FALSE(pin(std::vector<Sampled>{}, values, kLabels));
}

TEST(Pin, RefusesWhatTheQuantityCannotBe) {
  const std::vector<Sampled> samples = {{0, minute(0), 482}, {0, minute(9), 3200}};
  const std::vector<InstrumentValue> values = {{"humidity_pct", 48.2, 0.1, minute(0), "B2"}};
  EXPECT_FALSE(pin(samples, values, kLabels)) << "later it would be 320 %";
}

TEST(Pin, FindsAnyLineThroughValuesAtSeveralLevels) {
  std::vector<Sampled> samples;
  std::vector<InstrumentValue> values;
  for (int i = 0; i < 4; ++i) {
    samples.push_back({0, minute(i), 1000.0 + 300 * i});
    values.push_back(celsius(3.7 + 0.0173 * 300 * i, minute(i), "B2"));
  }
  const auto found = pin(samples, values, kLabels);
  ASSERT_TRUE(found);
  EXPECT_NEAR(found->scale, 0.0173, 1e-9);
  EXPECT_NEAR(found->offset, 3.7 - 17.3, 1e-6);
  EXPECT_FALSE(found->scale_is_usual);
  values[1].value += 2;
  EXPECT_FALSE(pin(samples, values, kLabels)) << "one of them lies off the line";
}

}  // namespace
}  // namespace fieldfare::learn
