// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/mac_frame.h"

#include <gtest/gtest.h>

#include <string>

#include "fieldfare/wire/capture_test_support.h"

namespace fieldfare::wire {
namespace {

using test::Octets;
using test::put;

std::string text_of(const MacParty& party) {
  std::string text = party.pan_id ? std::to_string(*party.pan_id) : "-";
  return text + '/' + (party.address ? party.address->text() : "-");
}

/// Frame control of a data frame.
std::uint16_t control(unsigned version, unsigned to, unsigned from, bool compressed) {
  return static_cast<std::uint16_t>(1U | (compressed ? 0x40U : 0U) | to << 10U | version << 12U |
                                    from << 14U);
}

/// A header with the fields that are asked for: PAN 1 is the destination's, 2 the
/// source's; then 20 octets of which none may be missed.
Octets frame(std::uint16_t frame_control, unsigned to_pan, unsigned from_pan) {
  const unsigned to = frame_control >> 10U & 3U;
  const unsigned from = frame_control >> 14U & 3U;
  Octets octets;
  put(octets, frame_control, 2);
  put(octets, 77, 1);
  if (to_pan != 0) put(octets, 1, 2);
  if (to == 2) put(octets, 0xA0A1, 2);
  if (to == 3) put(octets, 0x02A0'0000'0000'00A1, 8);
  if (from_pan != 0) put(octets, 2, 2);
  if (from == 2) put(octets, 0xB0B1, 2);
  if (from == 3) put(octets, 0x02B0'0000'0000'00B1, 8);
  return octets;
}

struct Row {
  unsigned to, from;
  bool compressed;
  bool to_pan, from_pan;
};

// Source: IEEE Std 802.15.4-2015 table 7-2, from memory; captures_test compares
// the whole with tshark.
TEST(MacFrame, PanIdsOf2015StandWhereTheTableSays) {
  const Row table[] = {
      {0, 0, false, false, false}, {0, 0, true, true, false},  {3, 0, false, true, false},
      {2, 0, false, true, false},  {3, 0, true, false, false}, {2, 0, true, false, false},
      {0, 3, false, false, true},  {0, 2, false, false, true}, {0, 3, true, false, false},
      {0, 2, true, false, false},  {3, 3, false, true, false}, {3, 3, true, false, false},
      {2, 2, false, true, true},   {2, 3, false, true, true},  {3, 2, false, true, true},
      {2, 3, true, true, false},   {3, 2, true, true, false},  {2, 2, true, true, false},
  };
  for (const Row& row : table) {
    SCOPED_TRACE(testing::Message() << row.to << ' ' << row.from << ' ' << row.compressed);
    const Octets octets =
        frame(control(2, row.to, row.from, row.compressed), row.to_pan, row.from_pan);
    const auto header = parse_mac_header(octets);
    ASSERT_TRUE(header);
    EXPECT_EQ(header->octets, octets.size());
    EXPECT_EQ(header->destination.pan_id.has_value(), row.to_pan);
    const bool filled_in = row.from != 0 && row.to_pan;
    const std::uint16_t pan_id = row.from_pan ? 2 : 1;
    EXPECT_EQ(header->source.pan_id,
              row.from_pan || filled_in ? std::optional{pan_id} : std::nullopt);
    EXPECT_EQ(header->sequence, 77);
  }
}

TEST(MacFrame, BeforeTheEditionOf2015OnlyTwoAddressesShareAPanId) {
  const auto shared = parse_mac_header(frame(control(1, 2, 2, true), 1, 0));
  ASSERT_TRUE(shared);
  EXPECT_EQ(text_of(shared->destination), "1/A0A1");
  EXPECT_EQ(text_of(shared->source), "1/B0B1");
  const auto own = parse_mac_header(frame(control(0, 2, 3, false), 1, 1));
  ASSERT_TRUE(own);
  EXPECT_EQ(text_of(own->source), "2/02B00000000000B1");
  EXPECT_FALSE(parse_mac_header(frame(control(1, 0, 2, true), 0, 1)));
  EXPECT_FALSE(parse_mac_header(frame(control(0, 2, 0, true), 1, 0)));
}

TEST(MacFrame, ASuppressedSequenceNumberIsAbsentAndTakesNoRoom) {
  Octets octets;
  put(octets, control(2, 0, 2, true) | 0x0300U, 2);  // suppressed; elements follow
  put(octets, 0xB0B1, 2);
  const auto header = parse_mac_header(octets);
  ASSERT_TRUE(header);
  EXPECT_FALSE(header->sequence);
  EXPECT_TRUE(header->has_elements);
  EXPECT_EQ(text_of(header->source), "-/B0B1");
  EXPECT_EQ(header->octets, 4U);
}

TEST(MacFrame, BitsReservedBefore2015SuppressNothing) {
  Octets octets = frame(control(1, 2, 2, true), 1, 0);
  octets[1] |= 0x03;
  const auto header = parse_mac_header(octets);
  ASSERT_TRUE(header);
  EXPECT_EQ(header->sequence, 77);
  EXPECT_FALSE(header->has_elements);
}

TEST(MacFrame, TheSecurityHeaderIsAsLongAsItsControlSays) {
  // Source: IEEE Std 802.15.4-2015 section 9.4, from memory: control, counter of 4
  // octets, key identifier of 0, 1, 5 or 9.
  const std::size_t identifier[] = {0, 1, 5, 9};
  for (unsigned mode = 0; mode < 4; ++mode) {
    for (const bool counted : {true, false}) {
      Octets octets = frame(control(2, 2, 2, true), 1, 0);
      octets[0] |= 0x08;
      const std::size_t before = octets.size();
      put(octets, 5U | mode << 3U | (counted ? 0U : 0x20U), 1);
      octets.resize(octets.size() + 20);
      const auto header = parse_mac_header(octets);
      ASSERT_TRUE(header);
      EXPECT_EQ(header->security_octets, 1 + (counted ? 4U : 0U) + identifier[mode]);
      EXPECT_EQ(header->octets, before + header->security_octets);
    }
  }
}

TEST(MacFrame, WhatEndsWithinItsHeaderIsNone) {
  const Octets whole = frame(control(1, 3, 3, false), 1, 1);
  EXPECT_TRUE(parse_mac_header(whole));
  for (std::size_t size = 0; size < whole.size(); ++size) {
    // A copy of its own size, so that a sanitizer sees any reading past its end.
    const Octets part(whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(size));
    EXPECT_FALSE(parse_mac_header(part)) << size;
  }
}

TEST(MacFrame, ReservedModesVersionsAndTypesAreNone) {
  EXPECT_FALSE(parse_mac_header(frame(control(1, 1, 2, false), 1, 1)));
  EXPECT_FALSE(parse_mac_header(frame(control(1, 2, 1, false), 1, 1)));
  EXPECT_FALSE(parse_mac_header(frame(control(3, 2, 2, false), 1, 1)));
  Octets multipurpose = frame(control(1, 2, 2, false), 1, 1);
  multipurpose[0] = static_cast<std::uint8_t>((multipurpose[0] & ~7U) | 5U);
  EXPECT_FALSE(parse_mac_header(multipurpose));
  EXPECT_EQ(mac_frame_type(multipurpose), MacFrameType::multipurpose);
}

// Source: the check values of CRC-16/KERMIT and CRC-32/ISO-HDLC in the catalogue
// of parametrised CRC algorithms, over the digits 123456789: 2189 and CBF43926.
TEST(MacFrame, TheCheckIsThatOfTheCatalogueLeastOctetFirst) {
  Octets digits{'1', '2', '3', '4', '5', '6', '7', '8', '9'};
  Octets crc16 = digits;
  put(crc16, 0x2189, 2);
  EXPECT_TRUE(has_valid_fcs(crc16, 2));
  Octets crc32 = digits;
  put(crc32, 0xCBF4'3926, 4);
  EXPECT_TRUE(has_valid_fcs(crc32, 4));
  EXPECT_FALSE(has_valid_fcs(crc32, 2));
  crc16[3] ^= 1;
  EXPECT_FALSE(has_valid_fcs(crc16, 2));
  EXPECT_FALSE(has_valid_fcs(Octets{1}, 2));
}

}  // namespace
}  // namespace fieldfare::wire
