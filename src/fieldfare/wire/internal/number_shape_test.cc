// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/number_shape.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <cmath>
#include <limits>
#include <vector>

namespace fieldfare::wire {
namespace {

using fleet::ByteOrder;
using fleet::NumberForm;
using fleet::NumberKind;

// RFC 8949 appendix A: numbers and their IEEE 754 octets (behind F9, FA, FB).
TEST(NumberShape, ReadsTheRealNumbersOfRfc8949) {
  struct Row {
    std::vector<std::uint8_t> octets;
    double value;
  };
  const double infinity = std::numeric_limits<double>::infinity();
  const Row rows[] = {
      {{0x00, 0x00}, 0.0},
      {{0x3c, 0x00}, 1.0},
      {{0x3e, 0x00}, 1.5},
      {{0x7b, 0xff}, 65504.0},
      {{0x00, 0x01}, 5.960464477539063e-8},
      {{0x04, 0x00}, 0.00006103515625},
      {{0xc4, 0x00}, -4.0},
      {{0x7c, 0x00}, infinity},
      {{0x47, 0xc3, 0x50, 0x00}, 100000.0},
      {{0x7f, 0x7f, 0xff, 0xff}, 3.4028234663852886e+38},
      {{0xff, 0x80, 0x00, 0x00}, -infinity},
      {{0x3f, 0xf1, 0x99, 0x99, 0x99, 0x99, 0x99, 0x9a}, 1.1},
      {{0x7e, 0x37, 0xe4, 0x3c, 0x88, 0x00, 0x75, 0x9c}, 1.0e+300},
      {{0xc0, 0x10, 0x66, 0x66, 0x66, 0x66, 0x66, 0x66}, -4.1},
  };
  for (const Row& row : rows) {
    const NumberShape shape{
        {NumberKind::real, static_cast<int>(row.octets.size()), ByteOrder::big, {}}};
    EXPECT_EQ(shape.number(shape.bits(row.octets, 0)).value(), row.value);
    if (!std::isfinite(row.value)) continue;
    std::vector<std::uint8_t> written(row.octets.size());
    shape.put(written, 0, shape.bits_for(RawNumber::of_real(row.value)).value());
    EXPECT_EQ(written, row.octets) << row.value;
  }
  EXPECT_TRUE(std::isnan(half_value(0x7e00)));
  EXPECT_TRUE(std::signbit(half_value(0x8000)));
}

TEST(NumberShape, RoundsHalvesAsIeee754Wants) {
  // To nearest, ties to even (IEEE 754 section 4.3.1, from memory).
  EXPECT_EQ(nearest_half(2049), 0x6800);    // between 2048 and 2050
  EXPECT_EQ(nearest_half(2051), 0x6802);    // between 2050 and 2052
  EXPECT_EQ(nearest_half(2047.9), 0x6800);  // carries into the exponent
  EXPECT_EQ(nearest_half(65519.9), 0x7bff);
  EXPECT_EQ(nearest_half(65520), std::nullopt);
  EXPECT_EQ(nearest_half(0x1p-26), 0x0000);
  EXPECT_EQ(nearest_half(-0x1p-24), 0x8001);
}

TEST(NumberShape, GivesEachHalfBack) {
  for (unsigned bits = 0; bits < 0x10000; ++bits) {
    const auto half = static_cast<std::uint16_t>(bits);
    const double value = half_value(half);
    if (!std::isfinite(value)) continue;
    ASSERT_EQ(nearest_half(value), half);
  }
}

TEST(NumberShape, ReadsPackedDecimalDigits) {
  // By definition four bits a digit.
  const std::vector<std::uint8_t> octets{0x12, 0x34, 0x56, 0x70};
  const NumberShape big{{NumberKind::bcd, 3, ByteOrder::big, {}}};
  const NumberShape little{{NumberKind::bcd, 3, ByteOrder::little, {}}};
  EXPECT_EQ(NumberShape::decimal(big.bits(octets, 0)), 123'456U);
  EXPECT_EQ(NumberShape::decimal(little.bits(octets, 0)), 563'412U);
  EXPECT_EQ(NumberShape::decimal(big.bits(octets, 1)), 345'670U);
  EXPECT_EQ(NumberShape::decimal(0x1A), std::nullopt);
  EXPECT_EQ(NumberShape::decimal(0xF000000000000000), std::nullopt);
  EXPECT_EQ(NumberShape::decimal(0x9999999999999999), 9'999'999'999'999'999U);
  EXPECT_EQ(big.bits_for(RawNumber::of_unsigned(999'999)), 0x999999U);
  EXPECT_EQ(big.bits_for(RawNumber::of_unsigned(1'000'000)), std::nullopt);
}

TEST(NumberShape, ExtendsTheSignOfAPartOfAnInteger) {
  // 0xABCD = 1010 1011 1100 1101: bits 4 to 9 are 111100, 60 or, signed, -4.
  const std::vector<std::uint8_t> octets{0xAB, 0xCD};
  const NumberShape plain{{NumberKind::unsigned_integer, 2, ByteOrder::big, {{4, 9}}}};
  const NumberShape with_sign{{NumberKind::signed_integer, 2, ByteOrder::big, {{4, 9}}}};
  EXPECT_EQ(plain.number(plain.bits(octets, 0)).value(), 60);
  EXPECT_EQ(with_sign.number(with_sign.bits(octets, 0)).value(), -4);
  EXPECT_EQ(with_sign.bits_for(RawNumber::of_signed(-32)), 0b100000U);
  EXPECT_EQ(with_sign.bits_for(RawNumber::of_signed(-33)), std::nullopt);
  EXPECT_EQ(with_sign.bits_for(RawNumber::of_signed(32)), std::nullopt);
  std::vector<std::uint8_t> written{0xFF, 0xFF};
  plain.put(written, 0, 0);
  EXPECT_EQ(written, (std::vector<std::uint8_t>{0xFC, 0x0F}));
}

TEST(NumberShape, KeepsAll64Bits) {
  const NumberShape plain{{NumberKind::unsigned_integer, 8, ByteOrder::little, {}}};
  const std::uint64_t most = std::numeric_limits<std::uint64_t>::max();
  EXPECT_EQ(plain.bits_for(RawNumber::of_unsigned(most)), most);
  const NumberShape with_sign{{NumberKind::signed_integer, 8, ByteOrder::big, {}}};
  EXPECT_EQ(with_sign.bits_for(RawNumber::of_unsigned(most)), std::nullopt);
  EXPECT_EQ(with_sign.number(most).value(), -1);
}

TEST(NumberShape, ReadsOctetByOctetAsItReadsEightAtOnce) {
  EXPECT_TRUE(rc::check([] {
    const auto frame = *rc::gen::container<std::vector<std::uint8_t>>(
        *rc::gen::inRange<std::size_t>(1, 20), rc::gen::arbitrary<std::uint8_t>());
    const int width = *rc::gen::inRange(1, std::min<int>(8, static_cast<int>(frame.size())) + 1);
    const auto octets = static_cast<std::size_t>(width);
    const std::size_t at = *rc::gen::inRange<std::size_t>(0, frame.size() - octets + 1);
    for (const ByteOrder order : {ByteOrder::big, ByteOrder::little}) {
      const NumberShape shape{{NumberKind::unsigned_integer, width, order, {}}};
      std::uint64_t expected = 0;
      for (std::size_t i = 0; i < octets; ++i) {
        expected = expected << 8 | frame[order == ByteOrder::big ? at + i : at + octets - 1 - i];
      }
      RC_ASSERT(shape.bits(frame, at) == expected);
      auto written = frame;
      shape.put(written, at, expected);
      RC_ASSERT(written == frame);
    }
  }));
}

}  // namespace
}  // namespace fieldfare::wire
