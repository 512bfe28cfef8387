// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/mqtt_packets.h"

#include <gtest/gtest.h>

#include <string>
#include <vector>

namespace fieldfare::source::mqtt {
namespace {

Octets octets_of(std::string_view text) { return {text.begin(), text.end()}; }

Octets operator+(Octets left, const Octets& right) {
  left.insert(left.end(), right.begin(), right.end());
  return left;
}

/// What was read, written out so that it can be compared.
struct Shown {
  std::string operator()(const ConnAck& p) const {
    return "connack " + std::to_string(p.session_present) + " " + std::to_string(p.code) + " " +
           p.reason + " " + std::to_string(p.keep_alive_s.value_or(0)) + " " +
           std::to_string(p.maximum_qos.value_or(9));
  }
  std::string operator()(const SubAck& p) const {
    return "suback " + std::to_string(p.id) + " " + std::to_string(p.code) + " " + p.reason;
  }
  std::string operator()(const Publish& p) const {
    return "publish " + std::string{p.topic} + " q" + std::to_string(p.qos) + " d" +
           std::to_string(p.dup) + " r" + std::to_string(p.retain) + " " + std::to_string(p.id) +
           " " + std::string{p.payload.begin(), p.payload.end()};
  }
  std::string operator()(const Oversize& p) const {
    return "oversize " + p.topic + " " + std::to_string(p.id) + " " + std::to_string(p.octets);
  }
  std::string operator()(const PubAck& p) const {
    return "puback " + std::to_string(p.id) + " " + std::to_string(p.code);
  }
  std::string operator()(const PingResp&) const { return "pingresp"; }
  std::string operator()(const Disconnect& p) const {
    return "disconnect " + std::to_string(p.code) + " " + p.reason;
  }
};

using Lines = std::vector<std::string>;

/// All packets of `octets`, fed in pieces of this size; `broken` where it ended so.
Lines read(const Octets& octets, Version version, std::size_t piece = std::size_t{1} << 24) {
  PacketReader reader{version};
  Lines lines;
  std::optional<std::string> broken;
  for (std::size_t from = 0; from < octets.size() && !broken; from += piece) {
    const auto part = std::span{octets}.subspan(from).first(std::min(piece, octets.size() - from));
    broken = reader.feed(part, [&](const Packet& packet) {
      lines.push_back(std::visit(Shown{}, packet));
      return true;
    });
  }
  if (broken) lines.push_back("broken: " + *broken);
  return lines;
}

TEST(MqttPackets, ConnectIsAsInFigure3_6OfTheStandardButForItsWill) {
  Octets packet;
  append_connect(packet, {.version = Version::v5,
                          .client_id = "c",
                          .user = "u",
                          .password = "p",
                          .clean = true,
                          .keep_alive_s = 10,
                          .session_expiry_s = 10});
  // MQTT 5.0 figure 3-6 (read in a public copy) has 0xCE for the flags: those of
  // the will, which we never have, are 0x0C of it.
  const Octets figure = {0, 4, 'M', 'Q', 'T', 'T', 5, 0xC2, 0, 10, 5, 0x11, 0, 0, 0, 10};
  const Octets fields = {0, 1, 'c', 0, 1, 'u', 0, 1, 'p'};
  const Octets head = {0x10, 25};
  EXPECT_EQ(packet, head + figure + fields);
}

TEST(MqttPackets, ConnectOfVersion311HasNoProperties) {
  Octets packet;
  append_connect(packet, {.version = Version::v3_1_1,
                          .client_id = "c",
                          .user = {},
                          .password = {},
                          .keep_alive_s = 10});
  // MQTT 3.1.1 section 3.1, from memory.
  EXPECT_EQ(packet, (Octets{0x10, 13, 0, 4, 'M', 'Q', 'T', 'T', 4, 0, 0, 10, 0, 1, 'c'}));
}

TEST(MqttPackets, SubscribeIsAsInFigure3_21WithoutRetainedMessages) {
  Octets packet;
  append_subscribe(packet, {.id = 10, .filter = "a/b", .qos = 1}, Version::v5);
  // MQTT 5.0 figure 3-21 (as quoted in a public test of another decoder), its
  // first filter, with retain handling 2 in bits 4 and 5 of the options.
  EXPECT_EQ(packet, (Octets{0x82, 9, 0, 10, 0, 0, 3, 'a', '/', 'b', 0x21}));
  packet.clear();
  append_subscribe(packet, {.id = 10, .filter = "a/b", .qos = 1}, Version::v3_1_1);
  EXPECT_EQ(packet, (Octets{0x82, 8, 0, 10, 0, 3, 'a', '/', 'b', 1}));  // from memory
}

TEST(MqttPackets, LengthsAreAsInTable1_1OfTheStandard) {
  // MQTT 5.0 table 1-1 (read in a public copy): the bounds of each width.
  struct Row {
    std::size_t value;
    Octets octets;
  };
  const Row rows[] = {
      {127, {0x7F}}, {128, {0x80, 0x01}}, {16'383, {0xFF, 0x7F}}, {16'384, {0x80, 0x80, 0x01}}};
  for (const Row& row : rows) {
    const std::string payload(row.value - 3, 'x');
    Octets packet;
    append_publish(
        packet,
        {.topic = "t",
         .payload = {reinterpret_cast<const std::uint8_t*>(payload.data()), payload.size()}},
        Version::v3_1_1);
    const Octets head(packet.begin() + 1,
                      packet.begin() + 1 + static_cast<std::ptrdiff_t>(row.octets.size()));
    EXPECT_EQ(head, row.octets);
    EXPECT_EQ(read(packet, Version::v3_1_1), Lines{"publish t q0 d0 r0 0 " + payload});
  }
}

TEST(MqttPackets, PublishIsReadWithItsFlagsAndItsPropertiesPassedOver) {
  // A variable header as in MQTT 5.0 figure 3-9 (topic a/b, identifier 10; from
  // memory), then properties of every shape that table 2-4 gives a PUBLISH.
  const Octets properties = Octets{0x01, 1} + Octets{0x02, 0, 0, 0, 60} + Octets{0x03, 0, 1, 't'} +
                            Octets{0x09, 0, 2, 0, 0xFF} + Octets{0x0B, 0x80, 0x01} +
                            Octets{0x0B, 1} + Octets{0x26, 0, 1, 'k', 0, 1, 'v'} +
                            Octets{0x26, 0, 0, 0, 0};
  const Octets body = Octets{0, 3, 'a', '/', 'b', 0, 10} +
                      Octets{static_cast<std::uint8_t>(properties.size())} + properties +
                      octets_of("hello");
  const Octets packet = Octets{0x3B, static_cast<std::uint8_t>(body.size())} + body;
  EXPECT_EQ(read(packet, Version::v5), Lines{"publish a/b q1 d1 r1 10 hello"});
}

TEST(MqttPackets, AnswersOfTheBrokerAreReadWithReasonAndLimits) {
  const Octets connack = {0x20, 14, 1, 0, 11, 0x13, 0, 30, 0x24, 0, 0x1F, 0, 3, 'w', 'h', 'y'};
  EXPECT_EQ(read(connack, Version::v5), Lines{"connack 1 0 why 30 0"});
  EXPECT_EQ(read((Octets{0x20, 2, 0, 5}), Version::v3_1_1), Lines{"connack 0 5  0 9"});
  EXPECT_EQ(read((Octets{0x90, 4, 0, 1, 0, 0x87}), Version::v5), Lines{"suback 1 135 "});
  EXPECT_EQ(read((Octets{0x90, 3, 0, 1, 1}), Version::v3_1_1), Lines{"suback 1 1 "});
  EXPECT_EQ(read((Octets{0xD0, 0}), Version::v5), Lines{"pingresp"});
  EXPECT_EQ(read((Octets{0x40, 2, 0, 9}), Version::v5), Lines{"puback 9 0"});
  EXPECT_EQ(read((Octets{0x40, 3, 0, 9, 0x10}), Version::v5), Lines{"puback 9 16"});
  EXPECT_EQ(read((Octets{0xE0, 0}), Version::v5), Lines{"disconnect 0 "});
  // MQTT 5.0 figure 3-24 (as in a public translation): session expiry interval 0.
  EXPECT_EQ(read((Octets{0xE0, 7, 0, 5, 0x11, 0, 0, 0, 0}), Version::v5), Lines{"disconnect 0 "});
}

TEST(MqttPackets, WhatTheStandardForbidsEndsTheStream) {
  const std::pair<const char*, Octets> rows[] = {
      {"a packet that only a client sends", {0xC0, 0}},
      {"reserved flags", {0xD1, 0}},
      {"a length that does not end", {0xD0, 0xFF, 0xFF, 0xFF, 0xFF}},
      {"a length in more octets than it needs [MQTT-1.5.5-1]", {0xD0, 0x80, 0}},
      {"QoS 2, which was not asked for", {0x34, 8, 0, 1, 'a', 0, 1, 0, 'x', 'y'}},
      {"QoS 3", {0x36, 8, 0, 1, 'a', 0, 1, 0, 'x', 'y'}},
      {"DUP with QoS 0 [MQTT-3.3.1-2]", {0x38, 4, 0, 1, 'a', 0}},
      {"identifier 0", {0x32, 6, 0, 1, 'a', 0, 0, 0}},
      {"no topic and no alias", {0x30, 3, 0, 0, 0}},
      {"a wildcard in a topic name", {0x30, 4, 0, 1, '#', 0}},
      {"a topic that is no UTF-8", {0x30, 4, 0, 1, 0xFF, 0}},
      {"U+0000 in a topic [MQTT-1.5.4-2]", {0x30, 4, 0, 1, 0, 0}},
      {"a topic beyond the packet", {0x30, 4, 0, 9, 'a', 0}},
      {"an alias, of which we allowed none", {0x30, 7, 0, 1, 'a', 3, 0x23, 0, 1}},
      {"a property of another packet", {0x30, 7, 0, 1, 'a', 3, 0x21, 0, 1}},
      {"a property of no packet", {0x30, 6, 0, 1, 'a', 2, 0x7E, 1}},
      {"a property twice", {0x30, 8, 0, 1, 'a', 4, 0x01, 0, 0x01, 0}},
      {"a property beyond its length", {0x30, 7, 0, 1, 'a', 2, 0x02, 0, 0}},
      {"a payload format of no meaning", {0x30, 6, 0, 1, 'a', 2, 0x01, 2}},
      {"a session that goes with a refusal [MQTT-3.2.2-6]", {0x20, 3, 1, 0x87, 0}},
      {"reserved bits in CONNACK", {0x20, 3, 2, 0, 0}},
      {"CONNACK without its properties", {0x20, 2, 0, 0}},
      {"two answers to one subscription", {0x90, 5, 0, 1, 0, 0, 0}},
      {"octets behind an acknowledgement", {0x40, 5, 0, 1, 0, 0, 0}},
      {"an answer to a ping with something in it", {0xD0, 1, 0}},
  };
  for (const auto& [what, octets] : rows) {
    const Lines lines = read(octets, Version::v5);
    ASSERT_EQ(lines.size(), 1U) << what;
    EXPECT_TRUE(lines.front().starts_with("broken: ")) << what << ": " << lines.front();
  }
  EXPECT_TRUE(read((Octets{0xE0, 0}), Version::v3_1_1).front().starts_with("broken: "));
}

TEST(MqttPackets, AStreamThatBrokeStaysBroken) {
  PacketReader reader{Version::v5};
  const auto nobody = [](const Packet&) {
    ADD_FAILURE();
    return true;
  };
  EXPECT_TRUE(reader.feed(Octets{0xC0, 0}, nobody));
  EXPECT_TRUE(reader.feed(Octets{0xD0, 0}, nobody));
}

TEST(MqttPackets, HugeMessageIsSkippedAndTheNextIsRead) {
  const std::string payload(kLargestPacket, 'x');
  Octets stream;
  append_publish(
      stream,
      {.topic = "t",
       .payload = {reinterpret_cast<const std::uint8_t*>(payload.data()), payload.size()},
       .qos = 1,
       .id = 5},
      Version::v3_1_1);
  const std::string size = std::to_string(stream.size());
  append_publish(stream, {.topic = "t", .payload = {}}, Version::v3_1_1);
  const Lines expected = {"oversize t 5 " + size, "publish t q0 d0 r0 0 "};
  for (const std::size_t piece : {stream.size(), std::size_t{60'000}, std::size_t{1000}}) {
    EXPECT_EQ(read(stream, Version::v3_1_1, piece), expected);
  }
}

TEST(MqttPackets, HugePacketsOfOtherKindsEndTheStream) {
  EXPECT_EQ(read((Octets{0x20, 0x81, 0x80, 0x80, 0x01}), Version::v5).size(), 1U);
}

TEST(MqttPackets, AnySplitGivesTheSamePackets) {
  Octets stream = {0x20, 3, 0, 0, 0, 0x90, 4, 0, 1, 0, 1};
  for (std::uint16_t id = 1; id < 5; ++id) {
    const Octets payload(id * 70, 'p');
    append_publish(stream, {.topic = "dairy/tank", .payload = payload, .qos = 1, .id = id},
                   Version::v5);
  }
  stream.push_back(0xD0);
  stream.push_back(0);
  stream.push_back(0xC0);  // broken from here on
  stream.push_back(0);
  const Lines whole = read(stream, Version::v5);
  ASSERT_EQ(whole.size(), 8U);
  for (std::size_t piece = 1; piece < stream.size(); ++piece) {
    EXPECT_EQ(read(stream, Version::v5, piece), whole) << piece;
  }
}

TEST(MqttPackets, WhatFollowsAStopWaitsForTheNextCall) {
  PacketReader reader{Version::v5};
  int taken = 0;
  const auto one = [&](const Packet&) {
    ++taken;
    return false;
  };
  EXPECT_FALSE(reader.feed(Octets{0xD0, 0, 0xD0, 0}, one));
  EXPECT_EQ(taken, 1);
  EXPECT_FALSE(reader.feed({}, one));
  EXPECT_EQ(taken, 2);
}

TEST(MqttPackets, EveryCodeHasWords) {
  for (unsigned code = 0; code < 256; ++code) {
    EXPECT_FALSE(words_of(static_cast<std::uint8_t>(code), Version::v5).empty());
    EXPECT_FALSE(words_of(static_cast<std::uint8_t>(code), Version::v3_1_1).empty());
  }
}

}  // namespace
}  // namespace fieldfare::source::mqtt
