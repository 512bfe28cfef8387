// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/capture_reader.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "fieldfare/wire/capture_test_support.h"
#include "fieldfare/wire/test_support.h"

namespace fieldfare::wire {
namespace {

using test::data_frame;
using test::extended_frame;
using test::Octets;
using test::with_fcs;
using test::with_flags;
using test::with_metadata;
using test::with_phy;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Pair;

constexpr std::uint16_t kPan = 0x1234;
constexpr std::uint16_t kNode = 0xB0B1;
constexpr std::uint64_t kExtended = 0x02B0'0000'0000'00B1;

/// Reads packets a second apart, from 2026-03-02 on.
class Captures : public testing::Test {
 protected:
  void read(int link_type, const std::vector<Octets>& packets, CaptureSieve sieve = {}) {
    CaptureReader reader{{"test.pcap", "loft", sieve}, labels_, ledger_};
    const HearingSink sink = [&](const fleet::Hearing& hearing) {
      heard_.push_back(test::with_names(hearing, labels_));
    };
    std::int64_t at = 0;
    for (const Octets& packet : packets) {
      const Instant time = *parse_rfc3339("2026-03-02T06:00:00Z") + Duration{++at * 1'000'000'000};
      reader.feed({link_type, time, packet, packet.size()}, sink);
    }
    reader.finish(sink);
    fatal_ = reader.fatal();
    for (const Complaint& note : reader.notes()) notes_.push_back(note.text());
  }

  std::vector<std::string> nodes() const {
    std::vector<std::string> names;
    names.reserve(heard_.size());
    for (const test::Heard& heard : heard_) names.push_back(heard.node);
    return names;
  }
  bool shared(const char* name) { return labels_.label(labels_.node(name).value()).shared_counter; }

  fleet::Labels labels_;
  Ledger ledger_;
  std::vector<test::Heard> heard_;
  std::vector<std::string> notes_;
  std::optional<Complaint> fatal_;
};

std::vector<Octets> frames(std::size_t count) {
  std::vector<Octets> result;
  for (std::size_t i = 0; i < count; ++i) {
    result.push_back(data_frame(kPan, kNode, 1, static_cast<std::uint8_t>(i)));
  }
  return result;
}

Octets damaged(Octets frame) {
  frame[9] ^= 0x10;
  return frame;
}

TEST_F(Captures, AFrameWithItsCheckGivesSenderAndSequence) {
  read(195,
       {with_fcs(data_frame(kPan, kNode, 1, 7)), with_fcs(extended_frame(kPan, kExtended, 8))});
  EXPECT_THAT(nodes(), ElementsAre("1234/B0B1", "02B00000000000B1"));
  EXPECT_EQ(heard_[0].sequence, 7);
  EXPECT_EQ(heard_[0].receiver, "loft");
  EXPECT_EQ(heard_[0].time, "2026-03-02T06:00:01Z");
  EXPECT_FALSE(heard_[0].rssi_dbm);
  EXPECT_EQ(labels_.label(labels_.node("1234/B0B1").value()).sequence_bits, 8);
  EXPECT_THAT(notes_, ElementsAre(HasSubstr("are its check")));
}

TEST_F(Captures, FlagsInPlaceOfTheCheckGiveSignalAndCorrelation) {
  std::vector<Octets> packets;
  for (const Octets& frame : frames(100)) packets.push_back(with_flags(frame, -10, true, 105));
  packets[60].back() = 105;  // the receiver found the check wrong
  read(195, packets);
  EXPECT_EQ(heard_.size(), 99U);
  EXPECT_EQ(heard_[0].rssi_dbm, -83);
  EXPECT_EQ(heard_[0].lqi, 105);
  EXPECT_THAT(ledger_.skipped_by_reason(), ElementsAre(Pair("bad-check", 1)));
  EXPECT_EQ(ledger_.quoted().front().place.line, 61U);
  EXPECT_THAT(notes_, ElementsAre(HasSubstr("RSSI")));
}

TEST_F(Captures, FramesHeldBackComeInTheirOrder) {
  std::vector<Octets> packets;
  for (const Octets& frame : frames(70)) packets.push_back(with_flags(frame, -10, true, 105));
  read(195, packets);
  ASSERT_EQ(heard_.size(), 70U);
  for (std::size_t i = 0; i < 70; ++i) EXPECT_EQ(heard_[i].sequence, i);
}

TEST_F(Captures, AFrameWhoseCheckFailsMakesNoNodeKnown) {
  read(195,
       {with_fcs(data_frame(kPan, kNode, 1, 7)), damaged(with_fcs(data_frame(kPan, 5, 1, 7)))});
  EXPECT_EQ(labels_.node_count(), 1U);
  EXPECT_THAT(ledger_.skipped_by_reason(), ElementsAre(Pair("bad-check", 1)));
}

// All damaged, so that neither a check holds nor a flag means anything.
TEST_F(Captures, AFewFramesThatProveNothingMakeNoNodeKnown) {
  const Octets bad = with_flags(data_frame(kPan, kNode, 1, 7), -10, true, 105);
  read(195, {bad, bad, bad});
  EXPECT_TRUE(heard_.empty());
  EXPECT_EQ(ledger_.rows_skipped(), 3U);
}

TEST_F(Captures, OneCheckThatHoldsByChanceDoesNotTurnFlagsIntoChecks) {
  std::vector<Octets> packets;
  for (const Octets& frame : frames(90)) packets.push_back(with_flags(frame, -10, true, 105));
  packets[0] = with_fcs(data_frame(kPan, kNode, 1, 0));
  read(195, packets);
  EXPECT_GE(heard_.size(), 89U);
}

TEST_F(Captures, ThePhyHeaderIsTakenOff) {
  Octets no_start = with_phy(with_fcs(data_frame(kPan, kNode, 1, 9)));
  no_start[4] = 0xA6;
  Octets too_long = with_phy(with_fcs(data_frame(kPan, kNode, 1, 9)));
  ++too_long[5];
  read(215, {with_phy(with_fcs(data_frame(kPan, kNode, 1, 8))), no_start, too_long,
             with_phy(damaged(with_fcs(data_frame(kPan, kNode, 1, 9))))});
  EXPECT_THAT(nodes(), ElementsAre("1234/B0B1"));
  EXPECT_THAT(ledger_.skipped_by_reason(),
              ElementsAre(Pair("bad-check", 1), Pair("bad-header", 2)));
}

TEST_F(Captures, WithoutAnyCheckEveryFrameIsTaken) {
  read(230, frames(3));
  EXPECT_EQ(heard_.size(), 3U);
}

TEST_F(Captures, MetadataGiveSignalAndQualityAndSayWhatTheCheckIs) {
  constexpr std::uint32_t kMinus87And5 = 0xC2AF'0000;  // IEEE 754: -87.5
  const Octets frame = data_frame(kPan, kNode, 1, 9);
  Octets crc32 = frame;
  test::put(crc32, Crc{*find_crc_model("crc-32/iso-hdlc")}.of(frame), 4);
  read(283, {with_metadata(frame, 0, kMinus87And5), with_metadata(with_fcs(frame), 1, kMinus87And5),
             with_metadata(crc32, 2, kMinus87And5), with_metadata(crc32, 1, kMinus87And5)});
  EXPECT_EQ(heard_.size(), 3U);
  EXPECT_EQ(heard_[0].rssi_dbm, -87.5);
  EXPECT_EQ(heard_[0].lqi, 200);
  EXPECT_THAT(ledger_.skipped_by_reason(), ElementsAre(Pair("bad-check", 1)));
}

TEST_F(Captures, MetadataThatRunOutOfTheirRoomAreDamage) {
  const Octets whole = with_metadata(data_frame(kPan, kNode, 1, 9), 0, 0);
  std::vector<Octets> packets;
  for (std::size_t size = 0; size < 36; ++size) {
    packets.emplace_back(whole.begin(), whole.begin() + static_cast<std::ptrdiff_t>(size));
  }
  Octets long_value = whole;
  long_value[6] = 40;
  packets.push_back(long_value);
  read(283, packets);
  EXPECT_THAT(ledger_.skipped_by_reason(), ElementsAre(Pair("bad-header", 37)));
}

TEST_F(Captures, EqualShortAddressesInTwoNetworksAreTwoNodes) {
  read(230, {data_frame(kPan, kNode, 1, 1), data_frame(0x00AA, kNode, 1, 1)});
  EXPECT_THAT(nodes(), ElementsAre("1234/B0B1", "00AA/B0B1"));
}

TEST_F(Captures, WithARosterOnlyItsNodesAreKept) {
  ASSERT_TRUE(labels_.list_node("calf pen", Address{kNode, 4}));
  ASSERT_TRUE(labels_.list_node("loft", Address{kExtended, 16}));
  read(230,
       {data_frame(kPan, kNode, 1, 1), data_frame(0x00AA, kNode, 1, 1),
        data_frame(kPan, 0xB0B2, 1, 1), extended_frame(0x00AA, kExtended, 1)},
       {.pan_id = kPan, .roster_only = true, .keep_foreign = false});
  EXPECT_THAT(nodes(), ElementsAre("calf pen", "loft"));
  EXPECT_THAT(ledger_.skipped_by_reason(), ElementsAre(Pair("foreign", 2)));
  EXPECT_EQ(ledger_.rows_unreadable(), 0U);
  EXPECT_TRUE(ledger_.quoted().empty());
  EXPECT_EQ(labels_.node_count(), 2U);
}

TEST_F(Captures, ForeignNodesAreKeptWhereAskedFor) {
  ASSERT_TRUE(labels_.list_node("calf pen", Address{kNode, 4}));
  read(230, {data_frame(kPan, kNode, 1, 1), data_frame(0x00AA, kNode, 1, 1)},
       {.pan_id = kPan, .roster_only = true, .keep_foreign = true});
  EXPECT_THAT(nodes(), ElementsAre("calf pen", "00AA/B0B1"));
}

TEST_F(Captures, WithAPanAndNoRosterThatPanIsKept) {
  read(230, {data_frame(kPan, kNode, 1, 1), data_frame(0x00AA, kNode, 1, 1)},
       {.pan_id = kPan, .roster_only = false, .keep_foreign = false});
  EXPECT_THAT(nodes(), ElementsAre("1234/B0B1"));
}

TEST_F(Captures, AShortAddressOfTheRosterWithoutAPanIsNotGuessed) {
  ASSERT_TRUE(labels_.list_node("calf pen", Address{kNode, 4}));
  read(230, {data_frame(kPan, kNode, 1, 1)},
       {.pan_id = {}, .roster_only = true, .keep_foreign = false});
  EXPECT_TRUE(heard_.empty());
  EXPECT_THAT(notes_, ElementsAre(HasSubstr("PAN 1234")));
}

TEST_F(Captures, AcknowledgementsAndOtherKindsAreCountedApart) {
  const Octets acknowledgement{0x02, 0x00, 0x07};
  const Octets beacon_request{0x03, 0x08, 0x07, 0xFF, 0xFF, 0xFF, 0xFF, 0x07};
  const Octets multipurpose{0x05, 0x00, 0x07};
  read(230, {acknowledgement, beacon_request, multipurpose});
  EXPECT_THAT(ledger_.skipped_by_reason(),
              ElementsAre(Pair("no-sender", 2), Pair("other-kind", 1)));
  EXPECT_EQ(ledger_.rows_unreadable(), 0U);
}

TEST_F(Captures, ABeaconIsHeardWithoutANumberOfTheDataCounter) {
  Octets beacon;
  test::put(beacon, 0x8000, 2);  // beacon, from short
  test::put(beacon, 200, 1);
  test::put(beacon, kPan, 2);
  test::put(beacon, kNode, 2);
  test::put(beacon, 0x0000CFFF, 4);
  read(230, {beacon});
  EXPECT_THAT(nodes(), ElementsAre("1234/B0B1"));
  EXPECT_FALSE(heard_[0].sequence);
}

TEST_F(Captures, ATimeBeforeClocksWereSetIsNotBelieved) {
  CaptureReader reader{{"test.pcap", "loft", {}}, labels_, ledger_};
  const Octets frame = data_frame(kPan, kNode, 1, 1);
  reader.feed({230, Instant{0}, frame, frame.size()}, [](const fleet::Hearing&) { FAIL(); });
  reader.finish([](const fleet::Hearing&) { FAIL(); });
  EXPECT_THAT(ledger_.skipped_by_reason(), ElementsAre(Pair("clock-not-believed", 1)));
}

TEST_F(Captures, AFrameCapturedInPartIsNoneWhoseCheckCanBeTold) {
  CaptureReader reader{{"test.pcap", "loft", {}}, labels_, ledger_};
  const Octets frame = data_frame(kPan, kNode, 1, 1);
  reader.feed({230, *parse_rfc3339("2026-03-02T06:00:00Z"), frame, frame.size() + 1},
              [](const fleet::Hearing&) { FAIL(); });
  EXPECT_THAT(ledger_.skipped_by_reason(), ElementsAre(Pair("cut-frame", 1)));
}

TEST_F(Captures, AnotherLinkTypeIsNoCaptureOfThisKind) {
  read(1, {Octets(60)});
  ASSERT_TRUE(fatal_);
  EXPECT_THAT(fatal_->text(), HasSubstr("link type is 1"));
  EXPECT_EQ(ledger_.rows_read(), 0U);
}

TEST_F(Captures, WhoSpeaksToSeveralHasASharedCounter) {
  std::vector<Octets> packets;
  for (std::uint8_t i = 0; i < 30; ++i) {
    const auto to = static_cast<std::uint16_t>(0x0100 + i % 3);
    packets.push_back(data_frame(kPan, 0x0010, to, i));
    packets.push_back(data_frame(kPan, kNode, 0x0010, i));
    packets.push_back(data_frame(kPan, 0x0020, i % 5 == 0 ? 0x0010 : 0xFFFF, i));
    packets.push_back(data_frame(kPan, 0x0030, 0xFFFF, i));
    packets.push_back(data_frame(kPan, 0x0000, 0xFFFF, i));
  }
  read(230, packets);
  EXPECT_TRUE(shared("1234/0010"));
  EXPECT_FALSE(shared("1234/B0B1")) << "it reports to one listener";
  EXPECT_TRUE(shared("1234/0020")) << "to one, and to all";
  EXPECT_FALSE(shared("1234/0030")) << "all hear the same";
  EXPECT_TRUE(shared("1234/0000")) << "forms the network";
}

TEST_F(Captures, AStrayFrameToSomebodyElseSharesNoCounter) {
  std::vector<Octets> packets = frames(99);
  packets.push_back(data_frame(kPan, kNode, 0x0777, 99));
  read(230, packets);
  EXPECT_FALSE(shared("1234/B0B1"));
}

TEST_F(Captures, TheLedgerBalances) {
  read(195, {with_fcs(data_frame(kPan, kNode, 1, 7)), with_fcs({0x02, 0x00, 0x07}), Octets{},
             Octets(5000), damaged(with_fcs(data_frame(kPan, kNode, 1, 8)))});
  EXPECT_EQ(ledger_.rows_read(), 5U);
  EXPECT_EQ(ledger_.rows_accepted(), 1U);
  EXPECT_THAT(ledger_.skipped_by_reason(),
              ElementsAre(Pair("bad-check", 2), Pair("no-sender", 1), Pair("too-long", 1)));
}

}  // namespace
}  // namespace fieldfare::wire
