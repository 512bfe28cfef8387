// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/crc.h"

#include <gtest/gtest.h>

#include <span>
#include <string>
#include <vector>

namespace fieldfare {
namespace {

const std::vector<std::uint8_t> kNineDigits = {'1', '2', '3', '4', '5', '6', '7', '8', '9'};

std::uint64_t crc_of(std::string_view name, const std::vector<std::uint8_t>& octets) {
  const CrcModel* const model = find_crc_model(name);
  EXPECT_NE(model, nullptr) << name;
  return model == nullptr ? 0 : Crc{*model}.of(octets);
}

TEST(Crc, EveryModelGivesItsCheckValueOverTheNineDigits) {
  // Where the check values come from is said beside the table.
  for (const CrcModel& model : crc_models()) {
    EXPECT_EQ(Crc{model}.of(kNineDigits), model.check) << model.name;
  }
}

TEST(Crc, AgreesWithValuesSeenInPublicCopiesOfTheCatalogue) {
  EXPECT_EQ(crc_of("CRC-16/IBM-3740", kNineDigits), 0x29B1u);
  EXPECT_EQ(crc_of("CRC-16/KERMIT", kNineDigits), 0x2189u);
  EXPECT_EQ(crc_of("CRC-16/XMODEM", kNineDigits), 0x31C3u);
  EXPECT_EQ(crc_of("CRC-16/MODBUS", kNineDigits), 0x4B37u);
  EXPECT_EQ(crc_of("CRC-16/IBM-SDLC", kNineDigits), 0x906Eu);
  EXPECT_EQ(crc_of("CRC-8/SMBUS", kNineDigits), 0xF4u);
  EXPECT_EQ(crc_of("CRC-8/MAXIM-DOW", kNineDigits), 0xA1u);
}

TEST(Crc, AgreesWithTheExampleOfTheModbusSpecification) {
  // Modbus over Serial Line V1.02, figure 30: octets 02 07 give 0x1241.
  EXPECT_EQ(crc_of("crc-16/modbus", {0x02, 0x07}), 0x1241u);
  // Computed with Python.
  EXPECT_EQ(crc_of("crc-16/modbus", {0x01, 0x03, 0x00, 0x00, 0x00, 0x0A}), 0xCDC5u);
}

TEST(Crc, AgreesOnASingleZeroOctet) {
  // The first seen in a public copy, the others computed with Python.
  EXPECT_EQ(crc_of("crc-16/ibm-3740", {0x00}), 0xE1F0u);
  EXPECT_EQ(crc_of("crc-16/modbus", {0x00}), 0x40BFu);
  EXPECT_EQ(crc_of("crc-32/iso-hdlc", {0x00}), 0xD202EF8Du);
}

TEST(Crc, OfNothingIsTheStartValueWithTheFinalXor) {
  EXPECT_EQ(crc_of("crc-16/ibm-3740", {}), 0xFFFFu);
  EXPECT_EQ(crc_of("crc-32/iso-hdlc", {}), 0u);
  EXPECT_EQ(crc_of("crc-64/xz", {}), 0u);
}

TEST(Crc, AnyFlippedBitChangesIt) {
  for (const CrcModel& model : crc_models()) {
    const Crc crc{model};
    for (std::size_t bit = 0; bit < 8 * kNineDigits.size(); ++bit) {
      std::vector<std::uint8_t> damaged = kNineDigits;
      damaged[bit / 8] = static_cast<std::uint8_t>(damaged[bit / 8] ^ 1u << bit % 8);
      EXPECT_NE(crc.of(damaged), model.check) << model.name << ", bit " << bit;
    }
  }
}

/// The definition, a bit at a time: the message, led by the start value, divided
/// by the polynomial.
std::uint64_t crc_by_bits(const CrcModel& model, std::span<const std::uint8_t> octets) {
  const auto turned = [](std::uint64_t value, unsigned width) {
    std::uint64_t out = 0;
    for (unsigned bit = 0; bit < width; ++bit) out |= (value >> bit & 1) << (width - 1 - bit);
    return out;
  };
  const std::uint64_t mask = ~std::uint64_t{0} >> (64 - model.width);
  std::uint64_t reg = model.start;
  for (const std::uint8_t octet : octets) {
    const std::uint64_t in = model.reflect_in ? turned(octet, 8) : octet;
    for (unsigned bit = 8; bit-- > 0;) {
      const bool carry = ((reg >> (model.width - 1) ^ in >> bit) & 1) != 0;
      reg = (reg << 1 & mask) ^ (carry ? model.polynomial : 0);
    }
  }
  return (model.reflect_out ? turned(reg, model.width) : reg) ^ model.final_xor;
}

TEST(Crc, AgreesWithTheDivisionBitByBitAtEveryLength) {
  std::vector<std::uint8_t> octets(45);
  std::uint32_t state = 1;
  for (auto& octet : octets) {
    state = state * 1'664'525 + 1'013'904'223;
    octet = static_cast<std::uint8_t>(state >> 24);
  }
  for (const CrcModel& model : crc_models()) {
    const Crc crc{model};
    for (std::size_t length = 0; length <= octets.size(); ++length) {
      const auto part = std::span{octets}.first(length);
      ASSERT_EQ(crc.of(part), crc_by_bits(model, part)) << model.name << ", " << length;
    }
  }
}

TEST(FindCrcModel, KnowsNamesInEitherCaseAndNoOthers) {
  EXPECT_EQ(find_crc_model("Crc-8/Smbus"), find_crc_model("crc-8/smbus"));
  EXPECT_EQ(find_crc_model("crc-8"), nullptr);
  EXPECT_EQ(find_crc_model("crc-8/smbus "), nullptr);
  EXPECT_EQ(find_crc_model(""), nullptr);
}

}  // namespace
}  // namespace fieldfare
