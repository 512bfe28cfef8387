// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include "fieldfare/learn/binary_test_support.h"

namespace fieldfare::learn {
namespace {

using fleet::ByteOrder;
using fleet::CheckFacts;
using fleet::CheckKind;
using fleet::FrameFacts;
using fleet::Framing;
using fleet::LengthPrefix;
using fleet::Octets;

CheckFacts crc(const char* name, int octets, ByteOrder order, int from = 0) {
  CheckFacts out;
  out.crc = name;
  out.octets = octets;
  out.order = order;
  out.at = -octets;
  out.from = from;
  return out;
}

FrameFacts facts_of(Framing framing) {
  FrameFacts out;
  out.framing = framing;
  out.check = crc("crc-16/modbus", 2, ByteOrder::little);
  return out;
}

struct Layout {
  const char* name;
  FrameFacts facts;
  std::size_t most_extra = 0;
};

std::vector<Layout> layouts() {
  std::vector<Layout> out;
  out.push_back({"messages", facts_of(Framing::none)});
  out.push_back({"slip", facts_of(Framing::slip), 3});
  out.push_back({"hdlc", facts_of(Framing::hdlc)});
  out.push_back({"cobs", facts_of(Framing::cobs), 3});
  out.push_back({"start and length in front", facts_of(Framing::length_prefixed), 4});
  out.back().facts.start = {0xAA, 0x55};
  out.back().facts.prefix = LengthPrefix{2, 1, ByteOrder::big, 3};
  out.push_back({"length in front", facts_of(Framing::length_prefixed), 4});
  out.back().facts.prefix = LengthPrefix{0, 1, ByteOrder::big, 1};
  out.push_back({"start and known length", facts_of(Framing::delimited)});
  out.back().facts.start = {0xA5, 0x5A};
  out.back().facts.length = 18;
  out.push_back({"start and end", facts_of(Framing::delimited)});
  out.back().facts.start = {0x68};
  out.back().facts.end = {0x0D, 0x0A};
  out.back().facts.length = 19;
  return out;
}

MadeDevice device_of(const Layout& layout) {
  MadeDevice out;
  out.frame = layout.facts;
  out.most_extra = layout.most_extra;
  return out;
}

void expect_address_and_counter(const Learnt& learnt, const MadeDevice& device) {
  const int head = static_cast<int>(device.frame.start.size() + device.header.size()) +
                   (device.frame.prefix ? device.frame.prefix->octets : 0);
  const fleet::AtOctet* const address = place_of(learnt, fleet::FieldRole::address);
  ASSERT_NE(address, nullptr);
  const auto* const form = std::get_if<fleet::OctetsForm>(&address->form);
  ASSERT_NE(form, nullptr);
  EXPECT_EQ(address->at, head);
  EXPECT_EQ(form->octets, static_cast<int>(device.address_octets));
  EXPECT_EQ(form->order, device.address_order);
  const fleet::AtOctet* const counter = place_of(learnt, fleet::FieldRole::sequence);
  ASSERT_NE(counter, nullptr);
  EXPECT_EQ(counter->at, head + static_cast<int>(device.address_octets));
  const auto* const number = std::get_if<fleet::NumberForm>(&counter->form);
  ASSERT_NE(number, nullptr);
  EXPECT_EQ(number->octets, static_cast<int>(device.counter_octets));
  EXPECT_EQ(number->order, device.counter_order);
}

TEST(LearningOctets, FindsEachFramingWithItsCheckAddressAndCounterInFortyFrames) {
  for (const Layout& layout : layouts()) {
    SCOPED_TRACE(layout.name);
    const MadeDevice device = device_of(layout);
    MadeSample made{device, 1};
    made.send(40, {.damaged = 0.1, .noise = layout.facts.framing == Framing::none ? 0.0 : 0.1});
    const Learnt learnt = learn(made.sample);
    ASSERT_TRUE(learnt.frame);
    EXPECT_EQ(learnt.frame->framing, layout.facts.framing);
    EXPECT_EQ(learnt.frame->end, layout.facts.end);
    ASSERT_TRUE(learnt.frame->check);
    EXPECT_EQ(*learnt.frame->check, *layout.facts.check);
    EXPECT_TRUE(faults_of(*learnt.frame).empty());
    expect_address_and_counter(learnt, device);
    EXPECT_EQ(learnt.sequence.bits, 16);
    EXPECT_EQ(learnt.nodes.size(), 5u);
    EXPECT_LE(learnt.sound, learnt.frames);
  }
}

TEST(LearningOctets, FindsLowOctetsSentFirst) {
  MadeDevice device = device_of({"hdlc", facts_of(Framing::hdlc)});
  device.address_order = ByteOrder::little;
  device.counter_order = ByteOrder::little;
  device.frame.check->order = ByteOrder::big;  // not as reflected CRCs are usually sent
  MadeSample made{device, 2};
  made.send(40);
  const Learnt learnt = learn(made.sample);
  expect_address_and_counter(learnt, device);
  ASSERT_TRUE(learnt.frame && learnt.frame->check);
  EXPECT_EQ(learnt.frame->check->order, ByteOrder::big);
}

TEST(LearningOctets, BearsThatThreeOfTenFramesAreDamaged) {
  int right = 0;
  for (std::uint64_t seed = 0; seed < 20; ++seed) {
    MadeSample made{device_of({"slip", facts_of(Framing::slip)}), seed};
    made.send(40, {.damaged = 0.3, .noise = 0.3});
    const Learnt learnt = learn(made.sample);
    right += learnt.frame && learnt.frame->framing == Framing::slip &&
                     learnt.frame->check == facts_of(Framing::slip).check &&
                     place_of(learnt, fleet::FieldRole::address) != nullptr &&
                     place_of(learnt, fleet::FieldRole::sequence) != nullptr
                 ? 1
                 : 0;
  }
  EXPECT_GE(right, 19);
}

TEST(LearningOctets, TellsSumsAndExclusiveOrApart) {
  for (const auto& [kind, octets, complement] :
       {std::tuple{CheckKind::sum, 1, fleet::Complement::none},
        std::tuple{CheckKind::sum, 1, fleet::Complement::twos},
        std::tuple{CheckKind::sum, 2, fleet::Complement::ones},
        std::tuple{CheckKind::exclusive_or, 1, fleet::Complement::none}}) {
    MadeDevice device = device_of({"hdlc", facts_of(Framing::hdlc)});
    CheckFacts check;
    check.kind = kind;
    check.octets = octets;
    check.complement = complement;
    check.order = ByteOrder::big;
    check.at = -octets;
    device.frame.check = check;
    MadeSample made{device, 3};
    made.send(40, {.damaged = 0.1});
    const Learnt learnt = learn(made.sample);
    ASSERT_TRUE(learnt.frame && learnt.frame->check);
    EXPECT_EQ(learnt.frame->check->kind, kind);
    EXPECT_EQ(learnt.frame->check->octets, octets);
    EXPECT_EQ(learnt.frame->check->complement, complement);
    EXPECT_EQ(learnt.frame->check->from, 0);
  }
}

TEST(LearningOctets, FindsACheckThatLeavesOutTheStartAndStandsBeforeTheData) {
  MadeDevice device;
  device.frame = facts_of(Framing::delimited);
  device.frame.start = {0xA5, 0x5A};
  device.frame.length = 18;
  device.frame.check = crc("crc-16/xmodem", 2, ByteOrder::big, 2);
  MadeSample made{device, 4};
  made.send(40);
  const Learnt at_end = learn(made.sample);
  ASSERT_TRUE(at_end.frame && at_end.frame->check);
  EXPECT_EQ(at_end.frame->check->from, 2);
  device.frame = facts_of(Framing::hdlc);
  device.frame.check = crc("crc-32/iso-hdlc", 4, ByteOrder::little, 4);
  device.frame.check->at = 0;
  device.header = {0, 0, 0, 0, 0x31};
  MadeSample in_front{device, 5};
  in_front.send(40);
  const Learnt learnt = learn(in_front.sample);
  ASSERT_TRUE(learnt.frame && learnt.frame->check);
  EXPECT_EQ(*learnt.frame->check, *device.frame.check);
}

// A CRC that starts from 0 doesn't see zeros in front: whether it covers them no
// frame can tell as long as they stay zeros.
TEST(LearningOctets, IsNotCertainOfACheckWhoseSpanNothingDecides) {
  MadeDevice device;
  device.frame = facts_of(Framing::hdlc);
  device.frame.check = crc("crc-16/xmodem", 2, ByteOrder::big);
  device.header = {0x00, 0x42};
  MadeSample made{device, 6};
  made.send(40);
  const Learnt learnt = learn(made.sample);
  EXPECT_GT(sureness_of_part(learnt, "check"), Sureness::certain);
  for (const Finding& finding : learnt.findings) {
    if (finding.part != "check") continue;
    EXPECT_NE(finding.decides.find("crc-16/xmodem over octets 1 to"), std::string::npos)
        << finding.decides;
  }
  device.header = {0x01, 0x42};
  MadeSample decided{device, 6};
  decided.send(40);
  EXPECT_EQ(sureness_of_part(learn(decided.sample), "check"), Sureness::certain);
}

TEST(LearningOctets, IsNeverCertainOfACheckInOctetsOfNoOrder) {
  for (std::uint64_t seed = 0; seed < 40; ++seed) {
    RandomStream random{seed, "no order"};
    Sample sample;
    const bool whole = seed % 2 == 0;
    const std::size_t octets = 4 + random.below(10);
    for (std::size_t i = 0; i < 30; ++i) {
      Octets frame = {0x7E, 0x10, static_cast<std::uint8_t>(random.below(3))};
      for (std::size_t at = 0; at < octets; ++at) {
        frame.push_back(static_cast<std::uint8_t>(random.below(256)));
      }
      sample.arrivals.push_back({std::nullopt, frame, whole});
    }
    const Learnt learnt = learn(sample);
    EXPECT_NE(sureness_of_part(learnt, "check"), Sureness::certain) << seed;
  }
}

TEST(LearningOctets, LeavesTheCheckOpenWhereFramesNeverChange) {
  Sample sample;
  for (int i = 0; i < 40; ++i) {
    sample.arrivals.push_back({std::nullopt, {0x10, 0x20, 0x30, 0x40, 0x40, 0x00, 0x00}, true});
  }
  EXPECT_EQ(sureness_of_part(learn(sample), "check"), Sureness::open);
}

TEST(LearningOctets, TellsWhereACounterStartsFromProvokedRestarts) {
  MadeSample made{device_of({"hdlc", facts_of(Framing::hdlc)}), 7};
  made.send(15);
  made.restart(1, 1);
  made.send(8);
  made.restart(3, 1);
  made.send(10);
  const Learnt learnt = learn(made.sample);
  EXPECT_EQ(learnt.sequence.bits, 16);
  EXPECT_EQ(learnt.sequence.starts_at, 1u);
}

TEST(LearningOctets, GivesZerosBesideASmallCounterToItAndIsNotCertain) {
  MadeDevice device = device_of({"hdlc", facts_of(Framing::hdlc)});
  device.counter_octets = 4;
  MadeSample made{device, 8};
  made.send(40);
  const Learnt learnt = learn(made.sample);
  EXPECT_EQ(learnt.sequence.bits, 32);
  for (const Finding& finding : learnt.findings) {
    if (finding.part != "counter") continue;
    EXPECT_NE(finding.sureness, Sureness::certain);
    EXPECT_NE(finding.decides.find("65535"), std::string::npos) << finding.decides;
  }
}

TEST(LearningOctets, FindsNodesWithoutLabelsByTheirCountersAndOnlyGuessesThem) {
  MadeSample made{device_of({"hdlc", facts_of(Framing::hdlc)}), 9};
  made.sample.labels.clear();
  made.send(60);
  made.sample.labels.clear();
  const Learnt learnt = learn(made.sample);
  EXPECT_EQ(learnt.nodes.size(), 5u);
  EXPECT_EQ(sureness_of_part(learnt, "address"), Sureness::guess);
  EXPECT_EQ(learnt.sequence.bits, 16);
}

TEST(LearningOctets, FindsAddressesOfOneOctetByNumbersOnLabels) {
  MadeDevice device = device_of({"hdlc", facts_of(Framing::hdlc)});
  device.addresses = {7, 12, 23, 31, 40};
  device.address_octets = 1;
  MadeSample made{device, 10};
  made.sample.labels = {"7", "12", "23", "31", "40"};
  made.send(40);
  const Learnt learnt = learn(made.sample);
  const fleet::AtOctet* const address = place_of(learnt, fleet::FieldRole::address);
  ASSERT_NE(address, nullptr);
  EXPECT_EQ(address->at, 2);
}

TEST(LearningOctets, SaysThatNothingIsKnownOfNothing) {
  const Learnt learnt = learn({});
  EXPECT_FALSE(learnt.frame);
  ASSERT_EQ(learnt.findings.size(), 1u);
  EXPECT_EQ(learnt.findings[0].sureness, Sureness::open);
}

TEST(LearningOctets, GivesTheSameAnswerTwice) {
  MadeSample made{device_of({"cobs", facts_of(Framing::cobs)}), 11};
  made.send(40, {.damaged = 0.2, .noise = 0.2});
  const Learnt once = learn(made.sample);
  const Learnt again = learn(made.sample);
  EXPECT_EQ(once.frame, again.frame);
  ASSERT_EQ(once.findings.size(), again.findings.size());
  for (std::size_t i = 0; i < once.findings.size(); ++i) {
    EXPECT_EQ(once.findings[i].what, again.findings[i].what);
  }
}

}  // namespace
}  // namespace fieldfare::learn
