// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/byte_log.h"

#include <gtest/gtest.h>

#include "fieldfare/base/random.h"

namespace fieldfare::wire {
namespace {

LoggedBytes event_of(std::string_view line) {
  LoggedBytes logged;
  EXPECT_EQ(read_byte_line(line, logged), ByteLine::event) << line;
  return logged;
}

bool is_unreadable(std::string_view line) {
  LoggedBytes logged;
  return read_byte_line(line, logged) == ByteLine::unreadable;
}

// Every line here is invented.
TEST(ByteLog, StreamLineHasTimeReceiverAndOctets) {
  const LoggedBytes logged = event_of("2026-03-02T07:00:00.12Z r1 stream 7E024d21");
  EXPECT_EQ(logged.at, parse_rfc3339("2026-03-02T07:00:00.12Z"));
  EXPECT_EQ(logged.receiver, "r1");
  EXPECT_EQ(logged.event, ByteEvent::stream);
  EXPECT_EQ(logged.octets, (fleet::Octets{0x7E, 0x02, 0x4D, 0x21}));
}

TEST(ByteLog, MessageMayHaveATopic) {
  EXPECT_EQ(event_of("2026-03-02T07:00:00Z gw message 7B7D dairy/cave%201").topic, "dairy/cave 1");
  EXPECT_EQ(event_of("2026-03-02T07:00:00Z gw message 7B7D").topic, "");
}

TEST(ByteLog, HandWrittenHexIsAMessage) {
  const fleet::Octets octets{0x02, 0xAA, 0x00, 0x11};
  EXPECT_EQ(event_of("02 aa 00 11").octets, octets);
  EXPECT_EQ(event_of("02AA0011").octets, octets);
  const LoggedBytes timed = event_of("2026-03-02T07:00:00Z 02aa 0011");
  EXPECT_EQ(timed.octets, octets);
  EXPECT_EQ(timed.at, parse_rfc3339("2026-03-02T07:00:00Z"));
  EXPECT_EQ(timed.event, ByteEvent::message);
}

TEST(ByteLog, CommentsAndEmptyLinesAreNothing) {
  LoggedBytes logged;
  for (const char* line : {"", "  ", "# invented", "\r"}) {
    EXPECT_EQ(read_byte_line(line, logged), ByteLine::nothing) << line;
  }
}

TEST(ByteLog, WhatIsNoLineIsUnreadable) {
  EXPECT_TRUE(is_unreadable("2026-03-02T07:00:00Z r1 stream"));
  EXPECT_TRUE(is_unreadable("2026-03-02T07:00:00Z r1 stream 7E0"));
  EXPECT_TRUE(is_unreadable("2026-03-02T07:00:00Z r1 sideways 7E"));
  EXPECT_TRUE(is_unreadable("2026-03-02T07:00:00Z r1 up 7E"));
  EXPECT_TRUE(is_unreadable("2026-03-02T07:00:00Z r1 message 7E a%2"));
  EXPECT_TRUE(is_unreadable("hello"));
  EXPECT_TRUE(is_unreadable("2026-03-02T07:00:00Z"));
}

TEST(ByteLog, WhatIsWrittenReadsBackTheSame) {
  RandomStream random{20260302, "byte log"};
  const auto text = [&](bool empty_too) {
    std::string made;
    const std::size_t size = random.below(6) + (empty_too ? 0 : 1);
    for (std::size_t i = 0; i < size; ++i) made += static_cast<char>(random.below(256));
    return made;
  };
  for (int i = 0; i < 2000; ++i) {
    LoggedBytes logged;
    if (random.below(4) != 0)
      logged.at = Instant{static_cast<std::int64_t>(random.below(1ULL << 60U))};
    logged.receiver = text(true);
    logged.event = static_cast<ByteEvent>(random.below(7));
    if (logged.event <= ByteEvent::waited) {
      for (std::size_t n = random.below(20); n > 0; --n) {
        logged.octets.push_back(static_cast<std::uint8_t>(random.below(256)));
      }
    }
    if (logged.event != ByteEvent::stream &&
        (logged.event <= ByteEvent::waited || logged.event == ByteEvent::said))
      logged.topic = text(true);
    std::string line = byte_log_line(logged);
    ASSERT_EQ(line.back(), '\n');
    line.pop_back();
    ASSERT_EQ(line.find('\n'), std::string::npos);
    EXPECT_EQ(event_of(line), logged) << line;
  }
}

}  // namespace
}  // namespace fieldfare::wire
