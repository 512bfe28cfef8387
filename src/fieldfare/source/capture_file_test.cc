// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/capture_file.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdint>
#include <vector>

namespace fieldfare::source {
namespace {

using testing::HasSubstr;

void put(std::string& bytes, std::uint64_t value, std::size_t count) {
  for (std::size_t i = 0; i < count; ++i) bytes += static_cast<char>(value >> (8 * i) & 0xFF);
}

// Layout of pcap and pcapng files: draft-ietf-opsawg-pcap and -pcapng, from
// memory; captures_test lets tshark read such files, too.
std::string pcap_file(bool nanoseconds, std::uint32_t link_type) {
  std::string bytes;
  put(bytes, nanoseconds ? 0xA1B2'3C4D : 0xA1B2'C3D4, 4);
  put(bytes, 2 | 4U << 16U, 4);
  put(bytes, 0, 8);
  put(bytes, 65'535, 4);
  put(bytes, link_type, 4);
  return bytes;
}

void put_packet(std::string& bytes, std::uint32_t seconds, std::uint32_t part,
                const std::string& octets) {
  put(bytes, seconds, 4);
  put(bytes, part, 4);
  put(bytes, octets.size(), 4);
  put(bytes, octets.size() + 1, 4);
  bytes += octets;
}

std::string pcapng_file(std::uint16_t link_type) {
  std::string bytes;
  put(bytes, 0x0A0D'0D0A, 4);
  put(bytes, 28, 4);
  put(bytes, 0x1A2B'3C4D, 4);
  put(bytes, 1, 4);
  put(bytes, UINT64_MAX, 8);
  put(bytes, 28, 4);
  put(bytes, 1, 4);  // interface, microseconds
  put(bytes, 20, 4);
  put(bytes, link_type, 4);
  put(bytes, 0, 4);
  put(bytes, 20, 4);
  return bytes;
}

void put_block(std::string& bytes, std::uint64_t microseconds) {
  put(bytes, 6, 4);
  put(bytes, 36, 4);
  put(bytes, 0, 4);
  put(bytes, microseconds >> 32U, 4);
  put(bytes, microseconds & 0xFFFF'FFFF, 4);
  put(bytes, 4, 4);
  put(bytes, 4, 4);
  bytes += "abcd";
  put(bytes, 36, 4);
}

struct Packet {
  int link_type;
  std::int64_t ns;
  std::string octets;
  std::size_t original;
};

struct Read {
  std::vector<Packet> packets;
  std::optional<Complaint> failed;
  std::optional<Complaint> torn;
};

/// Reads bytes that come in small pieces, as a pipe may give them.
Read read(std::string_view bytes) {
  const BytesIn in = [&](std::span<char> out) {
    const std::size_t size = std::min({std::size_t{7}, out.size(), bytes.size()});
    std::copy_n(bytes.data(), size, out.data());
    bytes.remove_prefix(size);
    return size;
  };
  Read result;
  const auto reading = read_capture("x.pcap", in, [&](const wire::CapturedPacket& packet) {
    result.packets.push_back({packet.link_type,
                              packet.time.ns,
                              {packet.octets.begin(), packet.octets.end()},
                              packet.original_octets});
    return true;
  });
  if (!reading) {
    result.failed = reading.error();
  } else {
    result.torn = reading->torn;
  }
  return result;
}

TEST(CaptureFile, TimesAreReadToTheirNanosecond) {
  for (const bool nanoseconds : {false, true}) {
    std::string bytes = pcap_file(nanoseconds, 195);
    put_packet(bytes, 1'772'431'200, 123'456, "frame");
    const Read result = read(bytes);
    ASSERT_EQ(result.packets.size(), 1U);
    EXPECT_EQ(result.packets[0].ns, 1'772'431'200'000'000'000 + 123'456 * (nanoseconds ? 1 : 1000));
    EXPECT_EQ(result.packets[0].link_type, 195);
    EXPECT_EQ(result.packets[0].octets, "frame");
    EXPECT_EQ(result.packets[0].original, 6U);
    EXPECT_FALSE(result.torn);
  }
}

TEST(CaptureFile, PcapngIsReadAsWell) {
  std::string bytes = pcapng_file(230);
  put_block(bytes, 1'772'431'200'000'001);
  put_block(bytes, 1'772'431'200'500'000);
  const Read result = read(bytes);
  ASSERT_EQ(result.packets.size(), 2U);
  EXPECT_EQ(result.packets[0].link_type, 230);
  EXPECT_EQ(result.packets[0].ns, 1'772'431'200'000'001'000);
}

TEST(CaptureFile, ATornEndIsToldAndThePacketsBeforeStand) {
  std::string bytes = pcap_file(false, 195);
  put_packet(bytes, 1'772'431'200, 0, "frame");
  put_packet(bytes, 1'772'431'201, 0, "frame");
  for (const std::size_t cut : {std::size_t{1}, std::size_t{5}, std::size_t{10}}) {
    const Read result = read(bytes.substr(0, bytes.size() - cut));
    EXPECT_EQ(result.packets.size(), 1U);
    ASSERT_TRUE(result.torn);
    EXPECT_THAT(result.torn->what, HasSubstr("after packet 1"));
  }
}

TEST(CaptureFile, ATimeOfNoClockOverflowsNothing) {
  std::string bytes = pcapng_file(230);
  put_block(bytes, UINT64_MAX);
  const Read result = read(bytes);
  ASSERT_EQ(result.packets.size(), 1U);
  EXPECT_EQ(result.packets[0].ns, 0);
}

TEST(CaptureFile, WhatOnlyBeginsLikeACaptureFails) {
  for (const std::string& bytes :
       {pcap_file(false, 195).substr(0, 10), std::string{"\x0A\x0D\x0D\x0Anothing of the kind"}}) {
    EXPECT_TRUE(is_capture(bytes));
    EXPECT_TRUE(read(bytes).failed);
  }
}

TEST(CaptureFile, TextIsNoCapture) {
  EXPECT_FALSE(is_capture("time,node\n"));
  EXPECT_FALSE(is_capture("\n\r\n"));
  EXPECT_FALSE(is_capture(""));
}

}  // namespace
}  // namespace fieldfare::source
