// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/crc.h"

#include <gtest/gtest.h>

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

TEST(FindCrcModel, KnowsNamesInEitherCaseAndNoOthers) {
  EXPECT_EQ(find_crc_model("Crc-8/Smbus"), find_crc_model("crc-8/smbus"));
  EXPECT_EQ(find_crc_model("crc-8"), nullptr);
  EXPECT_EQ(find_crc_model("crc-8/smbus "), nullptr);
  EXPECT_EQ(find_crc_model(""), nullptr);
}

}  // namespace
}  // namespace fieldfare
