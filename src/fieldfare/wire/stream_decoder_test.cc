// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/stream_decoder.h"

#include <gtest/gtest.h>

#include <string>
#include <vector>

#include "fieldfare/base/random.h"
#include "fieldfare/wire/frame_codec.h"

// Frames, sheets and rows here are invented.
namespace fieldfare::wire {
namespace {

using fleet::FieldLayout;
using fleet::FieldRole;
using fleet::FrameFacts;

constexpr Instant kNoon{1'772'450'100'000'000'000};  // 2026-03-02T11:15:00Z
constexpr Address kProbe{0x024D'2100'0000'5CE7, 16};
constexpr Address kDoor{0x024D'2100'0000'0012, 16};

FieldLayout number(const std::string& name, FieldRole role, fleet::NumberForm form,
                   double scale = 1) {
  FieldLayout field;
  field.name = name;
  field.role = role;
  field.place = fleet::AtOctet{{}, form};
  field.conversion.scale = scale;
  return field;
}

FieldLayout octets(const std::string& name, FieldRole role, std::optional<int> count) {
  FieldLayout field;
  field.name = name;
  field.role = role;
  field.place = fleet::AtOctet{{}, fleet::OctetsForm{count, fleet::ByteOrder::big}};
  return field;
}

FieldLayout at_pointer(const std::string& name, FieldRole role, const std::string& pointer,
                       fleet::TextCoding coding = fleet::TextCoding::plain) {
  FieldLayout field;
  field.name = name;
  field.role = role;
  field.place = fleet::AtPointer{pointer, coding};
  field.optional = true;
  return field;
}

/// Address, counter, temperature in hundredths; HDLC with FCS-16.
FrameFacts probe_frame() {
  FrameFacts frame;
  frame.framing = fleet::Framing::hdlc;
  frame.check = fleet::CheckFacts{};
  frame.check->crc = "crc-16/ibm-sdlc";
  frame.check->at = -2;
  frame.check->to = -2;
  frame.fields = {
      octets("node", FieldRole::address, 8),
      number("seq", FieldRole::sequence, {fleet::NumberKind::unsigned_integer, 1}),
      number("temperature_c", FieldRole::reading, {fleet::NumberKind::signed_integer, 2}, 0.01)};
  return frame;
}

/// As long as a probe's frame and with the same check, but another reading.
FrameFacts door_frame() {
  FrameFacts frame = probe_frame();
  frame.fields[2] =
      number("openings_count", FieldRole::reading, {fleet::NumberKind::unsigned_integer, 2});
  return frame;
}

fleet::Octets probe_report(const FrameFacts& frame, Address node, std::uint64_t sequence,
                           double value) {
  FrameCodec codec{frame};
  const FieldValue reading{2, 0, value};
  ReportValues report;
  report.address = node;
  report.sequence = sequence;
  report.readings = {&reading, 1};
  const auto encoded = codec.encode(report);
  EXPECT_TRUE(encoded.has_value());
  return encoded ? *encoded : fleet::Octets{};
}

/// What came out, with the readings copied.
struct Heard {
  fleet::Hearing hearing;
  std::vector<double> readings;
  std::optional<std::uint32_t> tag;
};

class Collector : public HearingStream {
 public:
  void hearing(const fleet::Hearing& hearing, std::optional<std::uint32_t> tag) override {
    heard.push_back({hearing, {}, tag});
    for (const fleet::Reading& reading : hearing.readings) {
      heard.back().readings.push_back(reading.value);
    }
    heard.back().hearing.readings = {};
  }
  void unread(const Unread& unread) override { reasons.emplace_back(unread.reason); }

  std::vector<Heard> heard;
  std::vector<std::string> reasons;
};

std::span<const std::uint8_t> as_octets(std::string_view text) {
  return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

void append(fleet::Octets& stream, const fleet::Octets& more) {
  stream.insert(stream.end(), more.begin(), more.end());
}

TEST(StreamDecoder, CallsTheNetworkByItsOwnNameWhateverTheFieldIsCalled) {
  FrameFacts frame;
  frame.body = fleet::Body::json;
  frame.fields = {at_pointer("node", FieldRole::name, "/n"),
                  at_pointer("pan", FieldRole::network, "/p")};
  fleet::Labels labels;
  DecoderOptions options;
  options.known = {{"door", &frame, 0}};
  StreamDecoder decoder{options, labels};
  struct Sink : HearingStream {
    std::vector<fleet::Reading> readings;
    void hearing(const fleet::Hearing& hearing, std::optional<std::uint32_t>) override {
      readings.assign(hearing.readings.begin(), hearing.readings.end());
    }
    void unread(const Unread&) override {}
  } out;
  decoder.message(as_octets(R"({"n": "door", "p": 43981})"), {kNoon}, out);
  ASSERT_EQ(out.readings.size(), 1u);
  EXPECT_EQ(labels.field_name(out.readings[0].field), "network");
  EXPECT_EQ(out.readings[0].value, 43981);
}

TEST(StreamDecoder, LeavesTheHeaderOfAListOfColumnsUnread) {
  FrameFacts frame;
  frame.framing = fleet::Framing::line;
  frame.body = fleet::Body::text;
  FieldLayout node = at_pointer("node", FieldRole::name, {});
  node.place = fleet::AtColumn{0};
  FieldLayout temperature = at_pointer("temperature_c", FieldRole::reading, {});
  temperature.place = fleet::AtColumn{1};
  frame.fields = {node, temperature};
  fleet::Labels labels;
  DecoderOptions options;
  options.known = {{"door", &frame, 0}};
  StreamDecoder decoder{options, labels};
  Collector out;
  decoder.feed(as_octets("Node,Temp C\r\nn1,21.5\r\n"), kNoon, out);
  EXPECT_EQ(out.reasons, std::vector<std::string>{"bad-value"});
  ASSERT_EQ(out.heard.size(), 1u);
  EXPECT_EQ(out.heard[0].readings, std::vector<double>{21.5});
}

TEST(StreamDecoder, ReadsAFrameIntoAHearing) {
  const FrameFacts frame = probe_frame();
  fleet::Labels labels;
  const auto listed = labels.list_node("cave 1 north", kProbe);
  StreamDecoder decoder{{"port", "office", nullptr, {{"probe", &frame, 7}}, {}}, labels};
  Collector out;
  decoder.feed(probe_report(frame, kProbe, 17, 21.39), kNoon, out);
  ASSERT_EQ(out.heard.size(), 1U);
  const Heard& heard = out.heard.front();
  EXPECT_EQ(heard.hearing.node, *listed);
  EXPECT_EQ(labels.receiver_name(heard.hearing.receiver), "office");
  EXPECT_EQ(heard.hearing.time, kNoon);
  EXPECT_FALSE(heard.hearing.arrived_at);
  EXPECT_EQ(heard.hearing.sequence, 17U);
  EXPECT_EQ(heard.readings, std::vector<double>{21.39});
  EXPECT_EQ(heard.tag, 7U);
}

TEST(StreamDecoder, ADamagedFrameEnrolsNobodyAndIsCounted) {
  const FrameFacts frame = probe_frame();
  fleet::Labels labels;
  StreamDecoder decoder{{"port", "r1", nullptr, {{"probe", &frame, 0}}, {}}, labels};
  Collector out;
  fleet::Octets damaged = probe_report(frame, kProbe, 17, 21.39);
  damaged[4] ^= 0x01U;
  decoder.feed(damaged, kNoon, out);
  EXPECT_TRUE(out.heard.empty());
  EXPECT_EQ(labels.node_count(), 0U);
  EXPECT_EQ(decoder.ledger().unread_by_reason.at("bad-check"), 1U);
  EXPECT_TRUE(decoder.ledger().balances());
}

TEST(StreamDecoder, TheRosterSettlesWhichOfTwoLikeSheetsAFrameIs) {
  const FrameFacts probe = probe_frame();
  const FrameFacts door = door_frame();
  fleet::Labels labels;
  const auto probe_node = labels.list_node("cave 1 north", kProbe);
  labels.list_node("cold store door", kDoor);
  DecoderOptions options{"port", "r1", nullptr, {{"probe", &probe, 0}, {"door", &door, 1}}, {}};
  options.kind_of = [&](fleet::NodeIndex node) {
    return std::optional<std::uint32_t>{node == *probe_node ? 0U : 1U};
  };
  StreamDecoder decoder{options, labels};
  Collector out;
  decoder.feed(probe_report(door, kDoor, 1, 300), kNoon, out);
  decoder.feed(probe_report(probe, kProbe, 1, 3), kNoon, out);
  ASSERT_EQ(out.heard.size(), 2U);
  EXPECT_EQ(out.heard[0].tag, 1U);
  EXPECT_EQ(out.heard[0].readings, std::vector<double>{300});
  EXPECT_EQ(out.heard[1].tag, 0U);
  EXPECT_EQ(out.heard[1].readings, std::vector<double>{3});
  EXPECT_EQ(labels.node_count(), 2U);
}

TEST(StreamDecoder, AnySplitGivesTheSameHearingsAndTheLedgerBalancesThroughout) {
  const FrameFacts frame = probe_frame();
  RandomStream random{20260302, "stream"};
  fleet::Octets stream;
  for (std::uint64_t i = 0; i < 200; ++i) {
    fleet::Octets report = probe_report(frame, i % 3 == 0 ? kDoor : kProbe, i % 256, 20);
    if (i % 7 == 0) report[random.below(report.size())] ^= 0xFFU;
    if (i % 11 == 0) report.resize(report.size() / 2);
    append(stream, report);
  }
  const auto read = [&](bool in_pieces) {
    fleet::Labels labels;
    StreamDecoder decoder{{"port", "r1", nullptr, {{"probe", &frame, 0}}, {}}, labels};
    Collector out;
    for (std::size_t at = 0; at < stream.size();) {
      const std::size_t piece = in_pieces ? 1 + random.below(40) : stream.size();
      const auto octets = std::span{stream}.subspan(at, std::min(piece, stream.size() - at));
      decoder.feed(octets, kNoon, out);
      EXPECT_TRUE(decoder.ledger().balances());
      at += octets.size();
    }
    decoder.finish(kNoon, out);
    EXPECT_TRUE(decoder.ledger().balances());
    EXPECT_EQ(decoder.ledger().bytes_fed, stream.size());
    EXPECT_EQ(decoder.ledger().bytes_pending, 0U);
    std::vector<std::uint64_t> sequences;
    sequences.reserve(out.heard.size());
    for (const Heard& heard : out.heard) sequences.push_back(*heard.hearing.sequence);
    return std::pair{sequences, out.reasons};
  };
  const auto whole = read(false);
  EXPECT_GT(whole.first.size(), 150U);
  for (int i = 0; i < 5; ++i) EXPECT_EQ(read(true), whole);
}

/// What a gateway publishes: JSON around the node's own frame.
FrameFacts gateway_frame() {
  FrameFacts frame;
  frame.body = fleet::Body::json;
  frame.fields = {at_pointer("gateway", FieldRole::receiver, "/gateway"),
                  at_pointer("rssi", FieldRole::rssi, "/rssi"),
                  at_pointer("at", FieldRole::time, "/at"),
                  at_pointer("data", FieldRole::payload, "/data", fleet::TextCoding::hex)};
  return frame;
}

TEST(StreamDecoder, UnwrapsWhatAGatewayPublishes) {
  const FrameFacts outer = gateway_frame();
  FrameFacts inner = probe_frame();
  inner.framing = fleet::Framing::none;
  inner.check.reset();
  fleet::Labels labels;
  StreamDecoder decoder{{"broker", "gateway", &outer, {{"probe", &inner, 0}}, {}}, labels};
  Collector out;
  decoder.message(as_octets(R"({"gateway":"loft","rssi":-97,"at":"2026-03-02T11:00:00Z",)"
                            R"("data":"024d210000005ce711085b"})"),
                  {kNoon, false}, out);
  ASSERT_EQ(out.heard.size(), 1U);
  const fleet::Hearing& hearing = out.heard.front().hearing;
  EXPECT_EQ(labels.receiver_name(hearing.receiver), "loft");
  EXPECT_EQ(labels.label(hearing.node).address, kProbe);
  EXPECT_EQ(hearing.sequence, 17U);
  EXPECT_EQ(hearing.rssi_dbm, -97.0);
  EXPECT_EQ(out.heard.front().readings, std::vector<double>{21.39});
  EXPECT_EQ(hearing.time, *parse_rfc3339("2026-03-02T11:00:00Z"));
  EXPECT_EQ(hearing.arrived_at, kNoon);
  EXPECT_FALSE(hearing.batched);
}

TEST(StreamDecoder, APayloadThatNoSheetDescribesIsRefusedAndTold) {
  const FrameFacts outer = gateway_frame();
  FrameFacts inner = probe_frame();
  inner.framing = fleet::Framing::none;
  fleet::Labels labels;
  StreamDecoder decoder{{"broker", "gateway", &outer, {{"probe", &inner, 0}}, {}}, labels};
  Collector out;
  decoder.message(as_octets(R"({"gateway":"loft","data":"0102"})"), {kNoon, false}, out);
  EXPECT_TRUE(out.heard.empty());
  EXPECT_EQ(decoder.ledger().reports_refused, 1U);
  EXPECT_EQ(out.reasons.size(), 1U);
  EXPECT_TRUE(decoder.ledger().balances());
}

/// A list of reports with hexadecimal addresses.
FrameFacts batch_frame() {
  FrameFacts frame;
  frame.body = fleet::Body::json;
  frame.each = "/reports";
  frame.fields = {at_pointer("node", FieldRole::address, "/node", fleet::TextCoding::hex),
                  at_pointer("at", FieldRole::time, "/at"),
                  at_pointer("age", FieldRole::age, "/age_s"),
                  at_pointer("temperature_c", FieldRole::reading, "/t")};
  return frame;
}

std::vector<Heard> read_batch(std::string_view json, bool held_back = false) {
  const FrameFacts frame = batch_frame();
  fleet::Labels labels;
  StreamDecoder decoder{{"broker", "r1", nullptr, {{"batch", &frame, 0}}, {}}, labels};
  Collector out;
  decoder.message(as_octets(json), {kNoon, held_back}, out);
  EXPECT_TRUE(out.reasons.empty());
  return out.heard;
}

TEST(StreamDecoder, ReportsOfANodeThatArriveTogetherWithoutTimesAreABatch) {
  const auto heard = read_batch(
      R"({"reports":[{"node":"02AA","t":1},{"node":"02AA","t":2},{"node":"02BB","t":3}]})");
  ASSERT_EQ(heard.size(), 3U);
  EXPECT_TRUE(heard[0].hearing.batched);
  EXPECT_TRUE(heard[1].hearing.batched);
  EXPECT_FALSE(heard[2].hearing.batched);
}

TEST(StreamDecoder, ReportsWithTimesOfTheirOwnAreNoBatch) {
  const auto heard = read_batch(R"({"reports":[{"node":"02AA","at":"2026-03-02T11:00:00Z"},)"
                                R"({"node":"02AA","at":"2026-03-02T11:05:00Z"}]})");
  ASSERT_EQ(heard.size(), 2U);
  EXPECT_FALSE(heard[0].hearing.batched);
  EXPECT_FALSE(heard[1].hearing.batched);
}

TEST(StreamDecoder, AMessageThatWaitedElsewhereSaysNothingAboutWhenItWasHeard) {
  EXPECT_TRUE(read_batch(R"({"reports":[{"node":"02AA"}]})", true).at(0).hearing.batched);
  EXPECT_FALSE(
      read_batch(R"({"reports":[{"node":"02AA","age_s":5}]})", true).at(0).hearing.batched);
}

TEST(StreamDecoder, AnAgeCountsBackFromTheArrival) {
  const auto heard = read_batch(R"({"reports":[{"node":"02AA","age_s":90}]})");
  ASSERT_EQ(heard.size(), 1U);
  EXPECT_EQ(heard[0].hearing.time, kNoon - Duration::seconds(90));
  EXPECT_EQ(heard[0].hearing.arrived_at, kNoon);
}

TEST(StreamDecoder, AClockThatWasNeverSetGivesWayToTheArrival) {
  const auto heard = read_batch(R"({"reports":[{"node":"02AA","at":"1970-01-01T00:02:00Z"}]})");
  ASSERT_EQ(heard.size(), 1U);
  EXPECT_EQ(heard[0].hearing.time, kNoon);
}

TEST(StreamDecoder, AReportFromTheDayAfterTomorrowIsRefused) {
  const FrameFacts frame = batch_frame();
  fleet::Labels labels;
  StreamDecoder decoder{{"broker", "r1", nullptr, {{"batch", &frame, 0}}, {}}, labels};
  Collector out;
  decoder.message(as_octets(R"({"reports":[{"node":"02AA","at":"2026-03-04T11:15:01Z"}]})"),
                  {kNoon, false}, out);
  EXPECT_TRUE(out.heard.empty());
  EXPECT_EQ(out.reasons, std::vector<std::string>{"time-ahead"});
  EXPECT_EQ(labels.node_count(), 0U);
}

TEST(StreamDecoder, WithoutSheetsAStreamIsRowsOfALogHoweverItIsSplit) {
  const std::string log =
      "time,node,seq,temperature_c\n"
      "2026-03-02T11:00:00Z,02AA,1,3.5\n"
      "nonsense,02AA,2,3.5\n"
      "2026-03-02T11:10:00Z,02AA,3,3.6\n";
  for (const std::size_t piece : {std::size_t{1}, std::size_t{7}, log.size()}) {
    fleet::Labels labels;
    StreamDecoder decoder{{"pipe", "cellar", nullptr, {}, {}}, labels};
    Collector out;
    for (std::size_t at = 0; at < log.size(); at += piece) {
      decoder.feed(as_octets(std::string_view{log}.substr(at, piece)), kNoon, out);
      EXPECT_TRUE(decoder.ledger().balances());
    }
    decoder.finish(kNoon, out);
    ASSERT_EQ(out.heard.size(), 2U);
    EXPECT_EQ(labels.receiver_name(out.heard[0].hearing.receiver), "cellar");
    EXPECT_EQ(out.heard[0].hearing.arrived_at, kNoon);
    EXPECT_EQ(decoder.ledger().frames_unread, 1U);
    EXPECT_EQ(decoder.ledger().bytes_in_frames, log.size());
    EXPECT_TRUE(decoder.ledger().balances());
  }
}

TEST(StreamDecoder, AMessageIsARowOfItsOwnEvenAfterABrokenOne) {
  fleet::Labels labels;
  StreamDecoder decoder{{"broker", "r1", nullptr, {}, {}}, labels};
  Collector out;
  decoder.message(as_octets(R"({"time":"2026-03-02T11:00:00Z","node":"02AA","se)"), {kNoon, false},
                  out);
  decoder.message(as_octets(R"({"time":"2026-03-02T11:00:00Z","node":"02AA","seq":4})"),
                  {kNoon, false}, out);
  ASSERT_EQ(out.heard.size(), 1U);
  EXPECT_EQ(out.heard[0].hearing.sequence, 4U);
  EXPECT_EQ(decoder.ledger().frames_unread, 1U);
  EXPECT_TRUE(decoder.ledger().balances());
}

TEST(StreamDecoder, ALogIsGoneOnWithInItsMiddle) {
  fleet::Labels labels;
  StreamDecoder decoder{{"file", "r1", nullptr, {}, {}}, labels};
  Collector out;
  decoder.resume(as_octets("time,node,seq\n"));
  decoder.feed(as_octets("2026-03-02T11:00:00Z,02AA,9\n"), kNoon, out);
  ASSERT_EQ(out.heard.size(), 1U);
  EXPECT_EQ(out.heard[0].hearing.sequence, 9U);
  EXPECT_EQ(decoder.ledger().bytes_fed, 28U);
  EXPECT_TRUE(decoder.ledger().balances());
}

TEST(RepeatedName, PutsItsNumberBeforeTheUnit) {
  EXPECT_EQ(fleet::repeated_name("temperature_c", 0), "temperature_1_c");
  EXPECT_EQ(fleet::repeated_name("air_temperature_c", 11), "air_temperature_12_c");
  EXPECT_EQ(fleet::repeated_name("count", 1), "count_2");
}

}  // namespace
}  // namespace fieldfare::wire
