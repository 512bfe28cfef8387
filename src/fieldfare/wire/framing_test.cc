// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/framing.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <iterator>
#include <numeric>

#include "fieldfare/base/random.h"

namespace fieldfare::wire {
namespace {

using Encode = Octets (*)(std::span<const std::uint8_t>);
using Decode = Result<Octets, FramingError> (*)(std::span<const std::uint8_t>);

struct Kind {
  const char* name;
  Encode encode;
  Decode decode;
};
const Kind kKinds[] = {{"slip", slip_encode, slip_decode},
                       {"hdlc", hdlc_encode, hdlc_decode},
                       {"cobs", cobs_encode, cobs_decode}};

struct Row {
  const char* source;
  const Kind& kind;
  Octets payload;
  Octets frame;
};

const Row kRows[] = {
    {"RFC 1055, computed with Python",
     kKinds[0],
     {0x01, 0xC0, 0x02, 0xDB, 0x03},
     {0xC0, 0x01, 0xDB, 0xDC, 0x02, 0xDB, 0xDD, 0x03, 0xC0}},
    {"RFC 1055, computed with Python",
     kKinds[0],
     {0xC0, 0xC0},
     {0xC0, 0xDB, 0xDC, 0xDB, 0xDC, 0xC0}},
    {"RFC 1662, computed with Python",
     kKinds[1],
     {0x01, 0x7E, 0x02, 0x7D, 0x03},
     {0x7E, 0x01, 0x7D, 0x5E, 0x02, 0x7D, 0x5D, 0x03, 0xAB, 0xF7, 0x7E}},
    {"RFC 1662, computed with Python", kKinds[1], {0x7E}, {0x7E, 0x7D, 0x5E, 0x81, 0x6A, 0x7E}},
    {"Cheshire & Baker, as seen in public copies",
     kKinds[2],
     {0x11, 0x22, 0x00, 0x33},
     {0x03, 0x11, 0x22, 0x02, 0x33, 0x00}},
    {"Cheshire & Baker, as seen in public copies", kKinds[2], {0x00}, {0x01, 0x01, 0x00}},
    {"Cheshire & Baker, as seen in public copies",
     kKinds[2],
     {0x00, 0x00},
     {0x01, 0x01, 0x01, 0x00}},
    {"Cheshire & Baker, as seen in public copies",
     kKinds[2],
     {0x11, 0x00, 0x00, 0x00},
     {0x02, 0x11, 0x01, 0x01, 0x01, 0x00}},
    {"by the definition of an empty group", kKinds[2], {}, {0x01, 0x00}},
};

TEST(Framing, AgreesWithPublishedFramesBothWays) {
  for (const Row& row : kRows) {
    EXPECT_EQ(row.kind.encode(row.payload), row.frame) << row.kind.name << ": " << row.source;
    const auto decoded = row.kind.decode(row.frame);
    ASSERT_TRUE(decoded) << row.kind.name;
    EXPECT_EQ(*decoded, row.payload) << row.kind.name << ": " << row.source;
  }
}

TEST(Framing, AFullCobsGroupAtTheEndNeedsNoEmptyOneAfterIt) {
  // As seen in public copies: FF 01 02 ... FE 00.
  Octets payload(254);
  std::iota(payload.begin(), payload.end(), std::uint8_t{1});
  Octets frame{0xFF};
  frame.insert(frame.end(), payload.begin(), payload.end());
  frame.push_back(0);
  EXPECT_EQ(cobs_encode(payload), frame);
  payload.push_back(0xFF);
  frame.pop_back();
  frame.insert(frame.end(), {0x02, 0xFF, 0x00});
  EXPECT_EQ(cobs_encode(payload), frame);
}

TEST(Framing, CobsKeepsZerosRightAfterFullGroups) {
  for (std::size_t length = 252; length < 258; ++length) {
    Octets payload(length, 0x55);
    payload.insert(payload.end(), {0x00, 0x55, 0x00});
    EXPECT_EQ(*cobs_decode(cobs_encode(payload)), payload) << length;
  }
}

Octets random_octets(RandomStream& random, std::size_t most) {
  Octets out(random.below(most + 1));
  // Half of the draws are octets that framings treat in their own way.
  constexpr std::uint8_t kSpecial[] = {0x00, 0x01, 0x7D, 0x7E, 0xC0, 0xDB, 0xDC, 0xDD};
  for (std::uint8_t& octet : out) {
    octet = random.bernoulli(0.5) ? kSpecial[random.below(std::size(kSpecial))]
                                  : static_cast<std::uint8_t>(random.below(256));
  }
  return out;
}

TEST(Framing, WhatIsEncodedIsDecodedAgain) {
  RandomStream random{1, "payloads"};
  for (const Kind& kind : kKinds) {
    for (int i = 0; i < 2000; ++i) {
      Octets payload = random_octets(random, i % 10 == 0 ? 1000 : 20);
      if (i % 2 == 0)
        std::replace(payload.begin(), payload.end(), std::uint8_t{0}, std::uint8_t{9});
      const auto decoded = kind.decode(kind.encode(payload));
      ASSERT_TRUE(decoded) << kind.name;
      ASSERT_EQ(*decoded, payload) << kind.name;
    }
  }
}

TEST(Framing, AnyOctetsGiveAPayloadOrAFaultWithinThem) {
  RandomStream random{1, "noise"};
  for (const Kind& kind : kKinds) {
    for (int i = 0; i < 20'000; ++i) {
      const Octets noise = random_octets(random, 12);
      const auto decoded = kind.decode(noise);
      if (!decoded) {
        ASSERT_LE(decoded.error().offset, noise.size()) << kind.name;
      }
    }
  }
}

void expect_fault(const Kind& kind, const Octets& frame, FramingFault fault, std::size_t offset) {
  const auto decoded = kind.decode(frame);
  ASSERT_FALSE(decoded) << kind.name;
  EXPECT_EQ(framing_fault_text(decoded.error().fault), framing_fault_text(fault)) << kind.name;
  EXPECT_EQ(decoded.error().offset, offset) << kind.name;
}

TEST(SlipDecode, SaysWhatIsWrongAndWhere) {
  expect_fault(kKinds[0], {}, FramingFault::not_delimited, 0);
  expect_fault(kKinds[0], {0xC0, 0x01}, FramingFault::not_delimited, 2);
  expect_fault(kKinds[0], {0xC0, 0x01, 0xC0, 0x02, 0xC0}, FramingFault::early_delimiter, 2);
  expect_fault(kKinds[0], {0xC0, 0xDB, 0x01, 0xC0}, FramingFault::bad_escape, 2);
  expect_fault(kKinds[0], {0xC0, 0xDB, 0xC0}, FramingFault::truncated, 2);
}

TEST(SlipDecode, TakesAFrameWithoutTheLeadingEnd) {
  EXPECT_EQ(*slip_decode(Octets{0x01, 0x02, 0xC0}), (Octets{0x01, 0x02}));
  EXPECT_EQ(*slip_decode(Octets{0xC0}), Octets{});
}

TEST(HdlcDecode, SaysWhatIsWrongAndWhere) {
  expect_fault(kKinds[1], {0x7E}, FramingFault::not_delimited, 0);
  expect_fault(kKinds[1], {0x7E, 0x7E}, FramingFault::truncated, 1);
  expect_fault(kKinds[1], {0x7E, 0x01, 0x7E}, FramingFault::truncated, 2);
  expect_fault(kKinds[1], {0x7E, 0x01, 0x7D, 0x7E}, FramingFault::truncated, 3);
  expect_fault(kKinds[1], {0x7E, 0x01, 0x7D, 0x7E, 0x7E}, FramingFault::bad_escape, 3);
  expect_fault(kKinds[1], {0x7E, 0x01, 0x7E, 0x02, 0x7E}, FramingFault::early_delimiter, 2);
  expect_fault(kKinds[1], {0x7E, 0x7D, 0x5E, 0x81, 0x6B, 0x7E}, FramingFault::bad_checksum, 5);
}

TEST(CobsDecode, SaysWhatIsWrongAndWhere) {
  expect_fault(kKinds[2], {0x01}, FramingFault::not_delimited, 0);
  expect_fault(kKinds[2], {0x00}, FramingFault::not_delimited, 0);
  expect_fault(kKinds[2], {0x05, 0x11, 0x00}, FramingFault::truncated, 0);
  expect_fault(kKinds[2], {0x03, 0x11, 0x00, 0x00}, FramingFault::early_delimiter, 2);
  expect_fault(kKinds[2], {0x02, 0x11, 0x00, 0x01, 0x00}, FramingFault::early_delimiter, 2);
}

}  // namespace
}  // namespace fieldfare::wire
