// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/check.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <string_view>

namespace fieldfare::wire {
namespace {

using fleet::ByteOrder;
using fleet::CheckFacts;
using fleet::CheckKind;
using fleet::Complement;
using fleet::Octets;

Octets octets_of(std::string_view text) { return {text.begin(), text.end()}; }

TEST(FrameCheck, AgreesWithTheWireOrderOfTheModbusSpecification) {
  // Modbus over Serial Line V1.02, figure 30: 02 07 is followed by 41 12.
  const FrameCheck check{CheckFacts{.crc = "crc-16/modbus", .at = -2}};
  EXPECT_TRUE(check.holds(Octets{0x02, 0x07, 0x41, 0x12}));
  EXPECT_FALSE(check.holds(Octets{0x02, 0x07, 0x12, 0x41}));
  // Computed with Python.
  EXPECT_TRUE(check.holds(Octets{0x01, 0x03, 0x00, 0x00, 0x00, 0x0A, 0xC5, 0xCD}));
}

TEST(FrameCheck, SendsACrcInTheOrderThatTheSheetSays) {
  // G. Cook's catalogue: XMODEM of one to nine is 31C3; of nothing, 0.
  Octets frame = octets_of("123456789..");
  const FrameCheck check{CheckFacts{.crc = "crc-16/xmodem", .order = ByteOrder::big, .at = -2}};
  check.write(frame);
  EXPECT_EQ(frame[9], 0x31);
  EXPECT_EQ(frame[10], 0xC3);
  EXPECT_TRUE(check.holds(Octets{0, 0}));
  EXPECT_FALSE(check.holds(Octets{0}));
}

TEST(FrameCheck, AgreesWithASentenceOfNmea0183) {
  // The exclusive or of what stands between `$` and `*`, in hex digits; example
  // sentence as printed in many public descriptions, from memory.
  const FrameCheck check{CheckFacts{.kind = CheckKind::exclusive_or,
                                    .octets = 1,
                                    .as_hex_digits = true,
                                    .at = -2,
                                    .from = 1,
                                    .to = -3}};
  constexpr std::string_view kSentence =
      "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47";
  Octets frame = octets_of(kSentence);
  EXPECT_TRUE(check.holds(frame));
  frame[10] ^= 1;
  EXPECT_FALSE(check.holds(frame));
}

TEST(FrameCheck, AgreesWithARecordOfIntelHex) {
  // Sum of the octets and the check is 0 modulo 256; record as printed in many
  // public descriptions, from memory: 10 0100 00 21...01 40.
  const FrameCheck check{
      CheckFacts{.kind = CheckKind::sum, .octets = 1, .complement = Complement::twos, .at = -1}};
  EXPECT_TRUE(check.holds(Octets{0x10, 0x01, 0x00, 0x00, 0x21, 0x46, 0x01, 0x36, 0x01, 0x21, 0x47,
                                 0x01, 0x36, 0x00, 0x7E, 0xFE, 0x09, 0xD2, 0x19, 0x01, 0x40}));
}

TEST(FrameCheck, AddsUpWideSumsAndTheirComplement) {
  // By hand: 0xFF + 0xFF + 0x03 = 0x0201.
  const Octets big{0xFF, 0xFF, 0x03, 0x02, 0x01};
  const Octets ones{0xFF, 0xFF, 0x03, 0xFE, 0xFD};  // low octet first: 0xFDFE
  CheckFacts facts{.kind = CheckKind::sum, .octets = 2, .order = ByteOrder::big, .at = -2};
  EXPECT_TRUE(FrameCheck{facts}.holds(big));
  facts.complement = Complement::ones;
  facts.order = ByteOrder::little;
  EXPECT_TRUE(FrameCheck{facts}.holds(ones));
}

TEST(FrameCheck, ChecksWhatStandsBehindItWhereItComesFirst) {
  const FrameCheck check{CheckFacts{.kind = CheckKind::sum, .octets = 1, .at = 1, .from = 2}};
  EXPECT_TRUE(check.holds(Octets{0x99, 6, 1, 2, 3}));
  EXPECT_FALSE(check.holds(Octets{0x99, 6, 1, 2, 4}));
  EXPECT_TRUE(check.holds(Octets{0x99, 0}));
}

TEST(FrameCheck, TakesHexDigitsOfEitherCaseAndNothingElse) {
  const FrameCheck check{
      CheckFacts{.crc = "crc-16/xmodem", .order = ByteOrder::big, .as_hex_digits = true, .at = -4}};
  EXPECT_TRUE(check.holds(octets_of("12345678931C3")));
  EXPECT_TRUE(check.holds(octets_of("12345678931c3")));
  EXPECT_FALSE(check.holds(octets_of("12345678931G3")));
  EXPECT_FALSE(check.holds(octets_of("1C3")));
}

/// A place from the front or from the end.
int any_place() { return *rc::gen::inRange(-12, 12); }

TEST(FrameCheck, HoldsForWhatItWroteAndNotForOneChangedBit) {
  EXPECT_TRUE(rc::check([] {
    CheckFacts facts;
    facts.kind = *rc::gen::element(CheckKind::crc, CheckKind::sum, CheckKind::exclusive_or);
    facts.crc = "crc-24/openpgp";
    facts.octets = facts.kind == CheckKind::crc ? 3 : 1;
    if (facts.kind == CheckKind::sum) {
      facts.octets = *rc::gen::inRange(1, 3);
      facts.complement = *rc::gen::element(Complement::none, Complement::ones, Complement::twos);
    }
    facts.order = *rc::gen::element(ByteOrder::little, ByteOrder::big);
    facts.as_hex_digits = *rc::gen::arbitrary<bool>();
    facts.at = any_place();
    facts.from = any_place();
    facts.to = any_place();
    const FrameCheck check{facts};
    auto frame = *rc::gen::arbitrary<Octets>();
    if (!check.has_room(frame.size())) {
      RC_ASSERT(!check.holds(frame));
      RC_SUCCEED("no room");
    }
    check.write(frame);
    RC_ASSERT(check.holds(frame));
    const auto at = static_cast<std::size_t>(
        facts.at < 0 ? static_cast<int>(frame.size()) + facts.at : facts.at);
    frame[at] ^= static_cast<std::uint8_t>(1U << *rc::gen::inRange(0, 3));
    RC_ASSERT(!check.holds(frame));
  }));
}

}  // namespace
}  // namespace fieldfare::wire
