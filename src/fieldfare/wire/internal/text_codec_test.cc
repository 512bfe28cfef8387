// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <limits>

#include "fieldfare/wire/body_test_support.h"
#include "fieldfare/wire/internal/body_codecs.h"

// Lines here are invented; what they must give follows from the layout beside them.
namespace fieldfare::wire {
namespace {

using fleet::AtColumn;
using fleet::AtKey;
using fleet::FieldLayout;
using fleet::FieldRole;
using fleet::FrameFacts;
using fleet::TextCoding;
using test::field;
using test::TakenReport;

using Values = std::vector<std::tuple<int, int, double>>;

FrameFacts frame_of(std::vector<FieldLayout> fields) {
  FrameFacts frame;
  frame.body = fleet::Body::text;
  frame.framing = fleet::Framing::line;
  frame.fields = std::move(fields);
  return frame;
}

FieldLayout column(int index, std::string name, FieldRole role = FieldRole::reading) {
  return field(std::move(name), role, AtColumn{index});
}

TakenReport read(const FrameFacts& frame, std::string_view line) {
  EXPECT_TRUE(fleet::faults_of(frame).empty());
  const auto decoded = test::decode(*make_text_codec(frame), line);
  EXPECT_FALSE(decoded.error) << (decoded.error ? body_error_text(*decoded.error, frame) : "");
  return decoded.reports.empty() ? TakenReport{} : decoded.reports.front();
}

BodyError error_of(const FrameFacts& frame, std::string_view line) {
  const auto decoded = test::decode(*make_text_codec(frame), line);
  EXPECT_TRUE(decoded.error);
  EXPECT_TRUE(decoded.reports.empty());
  return decoded.error.value_or(BodyError{});
}

/// The line that a decoded line is written as again.
std::string again(const FrameFacts& frame, std::string_view line) {
  struct Sink : ReportSink {
    BodyCodec* encoder = nullptr;
    std::string text;
    void report(const ReportValues& values) override {
      const auto body = encoder->encode(values);
      text = body ? test::text_of(*body) : "does not fit";
    }
  } sink;
  const auto encoder = make_text_codec(frame);
  sink.encoder = encoder.get();
  make_text_codec(frame)->decode({reinterpret_cast<const std::uint8_t*>(line.data()), line.size()},
                                 sink);
  return sink.text;
}

TEST(TextCodec, ReadsColumnsAtTheirPlaces) {
  const FrameFacts frame =
      frame_of({column(0, "node", FieldRole::address), column(2, "seq", FieldRole::sequence),
                column(3, "temperature_c"), column(4, "rssi", FieldRole::rssi)});
  const TakenReport report = read(frame, "02:4D:21:00:00:5C,x,18446744073709551615, -18.6 ,-87");
  EXPECT_EQ(report.address, (Address{0x024D2100005C, 12}));
  EXPECT_EQ(report.sequence, std::numeric_limits<std::uint64_t>::max());
  EXPECT_EQ(report.readings, (Values{{2, 0, -18.6}}));
  EXPECT_EQ(report.rssi_dbm, -87);
  EXPECT_EQ(again(frame, "024D2100005C,,7,21.25,-90"), "024D2100005C,,7,21.25,-90");
}

TEST(TextCodec, TakesAnyRunOfBlanksForOneSeparator) {
  FrameFacts frame = frame_of({column(1, "a_c"), column(3, "b_c")});
  frame.separator = ' ';
  EXPECT_EQ(read(frame, "  T  1.5 \t H   2 ").readings, (Values{{0, 0, 1.5}, {1, 0, 2}}));
  EXPECT_EQ(again(frame, "T 1.5 H 2"), "- 1.5 - 2");
}

TEST(TextCodec, FindsWhatFollowsAKey) {
  const FrameFacts frame = frame_of({field("temperature_c", FieldRole::reading, AtKey{"T"}),
                                     field("node", FieldRole::name, AtKey{"id"})});
  const TakenReport report = read(frame, "TT=4,id = store 2,T=21.5");
  EXPECT_EQ(report.node_name, "store 2");
  EXPECT_EQ(report.readings, (Values{{0, 0, 21.5}}));
  EXPECT_EQ(again(frame, "id=n7,T=-3"), "T=-3,id=n7");
  const BodyError error = error_of(frame, "id=n7,TT=4");
  EXPECT_EQ(error.fault, BodyFault::missing_field);
  EXPECT_EQ(error.field, 0U);
}

TEST(TextCodec, ReadsOctetsInHexAndBase64) {
  const FrameFacts frame =
      frame_of({field("node", FieldRole::address, AtColumn{0, TextCoding::hex}),
                field("payload", FieldRole::payload, AtColumn{1, TextCoding::base64})});
  // RFC 4648 section 10: "foobar" is Zm9vYmFy.
  const TakenReport report = read(frame, "020bcd,Zm9vYmFy");
  EXPECT_EQ(report.address, (Address{0x020BCD, 6}));
  EXPECT_EQ(report.payload, (fleet::Octets{'f', 'o', 'o', 'b', 'a', 'r'}));
  EXPECT_EQ(again(frame, "020bcd,Zm9vYg=="), "020BCD,Zm9vYg==");
  EXPECT_EQ(error_of(frame, "020bcd,Zm9v!mFy").fault, BodyFault::bad_value);
  EXPECT_EQ(error_of(frame, "020bg0,Zm9v").fault, BodyFault::bad_value);
}

TEST(TextCodec, TakesOnlyWholeColumnsForNumbers) {
  const FrameFacts frame = frame_of({column(0, "seq", FieldRole::part), column(1, "a_c")});
  for (const std::string_view bad : {"1,2x", "1,0x10", "1,inf", "1,1 2", "1,--2", "1,1e999"}) {
    EXPECT_EQ(error_of(frame, bad).fault, BodyFault::bad_value) << bad;
    EXPECT_EQ(error_of(frame, bad).offset, 2U) << bad;
  }
}

TEST(TextCodec, ReadsWordsOfAnEnumeration) {
  FrameFacts frame = frame_of({column(0, "door")});
  frame.fields[0].words = {{0, "shut"}, {2, "open"}};
  EXPECT_EQ(read(frame, "open").readings, (Values{{0, 0, 2}}));
  EXPECT_EQ(again(frame, "open"), "open");
  EXPECT_EQ(error_of(frame, "ajar").fault, BodyFault::bad_value);
}

TEST(TextCodec, ReadsTimesAsTextAndAsNumbers) {
  FrameFacts frame = frame_of({column(0, "time", FieldRole::time)});
  // RFC 3339 section 5.8: the same moment twice.
  EXPECT_EQ(read(frame, "1996-12-19T16:39:57-08:00").time,
            read(frame, "1996-12-20T00:39:57Z").time);
  EXPECT_EQ(read(frame, "1700000000").time, (Instant{1'700'000'000'000'000'000}));
  EXPECT_EQ(again(frame, "1996-12-20T00:39:57Z"), "1996-12-20T00:39:57Z");
  frame.fields[0].conversion.scale = 0.001;
  EXPECT_EQ(read(frame, "1700000000123").time, (Instant{1'700'000'000'123'000'000}));
  EXPECT_EQ(again(frame, "1700000000123"), "1700000000123");
  EXPECT_EQ(error_of(frame, "yesterday").fault, BodyFault::bad_value);
}

TEST(TextCodec, LeavesOutWhatIsOptional) {
  FrameFacts frame = frame_of({column(0, "a_c"), column(1, "b_c"), column(2, "c_c")});
  frame.fields[1].optional = frame.fields[2].optional = true;
  frame.fields[0].missing = -999;
  EXPECT_EQ(read(frame, "1,,3").readings, (Values{{0, 0, 1}, {2, 0, 3}}));
  EXPECT_EQ(read(frame, "1").readings, (Values{{0, 0, 1}}));
  EXPECT_EQ(again(frame, "1,,3"), "1,,3");
  EXPECT_EQ(again(frame, "-999,2"), "-999,2");
  EXPECT_EQ(error_of(frame, ",2,3").fault, BodyFault::missing_field);
}

TEST(TextCodec, TellsALineOfAnotherKindByItsConstant) {
  FrameFacts frame = frame_of({column(0, "tag", FieldRole::part), column(1, "a_c")});
  frame.fields[0].equals = fleet::Octets{'T', '1'};
  EXPECT_EQ(read(frame, "T1,5").readings, (Values{{1, 0, 5}}));
  EXPECT_EQ(again(frame, "T1,5"), "T1,5");
  EXPECT_EQ(error_of(frame, "T2,5").fault, BodyFault::another_kind);
}

TEST(TextCodec, ReadsColumnsThatRepeat) {
  FrameFacts frame = frame_of({column(0, "count", FieldRole::part), column(1, "a_c")});
  frame.fields[1].repeat = fleet::Repeat{std::string{"count"}};
  EXPECT_EQ(read(frame, "2,5,6").readings, (Values{{1, 0, 5}, {1, 1, 6}}));
  EXPECT_EQ(again(frame, "2,5,6"), "2,5,6");
  EXPECT_EQ(error_of(frame, "3,5,6").fault, BodyFault::missing_field);
  EXPECT_EQ(error_of(frame, "9999999,5,6").fault, BodyFault::too_many);
}

TEST(TextCodec, TellsWhichOfSeveralLoopsFailed) {
  // NAMUR NE 43 as quoted in public copies: 21 mA and more is a failure.
  FrameFacts frame = frame_of({column(0, "count", FieldRole::part), column(1, "level_m")});
  frame.fields[1].repeat = fleet::Repeat{std::string{"count"}};
  frame.fields[1].conversion.then = fleet::LoopSensor{0, 5};
  const TakenReport report = read(frame, "3,12,21.5,3.5");
  EXPECT_EQ(report.readings, (Values{{1, 0, 2.5}}));
  EXPECT_EQ(report.loop_faults.size(), 2U);
  EXPECT_EQ(again(frame, "3,12,21.5,3.5"), "3,12,21.5,3.5");
}

TEST(TextCodec, LeavesRoomForACheckInHexDigits) {
  FrameFacts frame = frame_of({column(0, "a_c"), column(1, "b_c")});
  frame.check = fleet::CheckFacts{};
  frame.check->kind = fleet::CheckKind::exclusive_or;
  frame.check->octets = 1;
  frame.check->as_hex_digits = true;
  frame.check->at = -2;
  EXPECT_EQ(read(frame, "1.5,27F").readings, (Values{{0, 0, 1.5}, {1, 0, 2}}));
  EXPECT_EQ(again(frame, "1.5,27F"), (std::string{"1.5,2\0\0", 7}));
  EXPECT_EQ(error_of(frame, "1").fault, BodyFault::too_short);
}

FieldLayout after(std::string text, std::string name, FieldRole role = FieldRole::reading) {
  return field(std::move(name), role, fleet::AfterText{std::move(text)});
}

TEST(TextCodec, FindsNumbersBetweenWords) {
  const FrameFacts frame = frame_of(
      {after("node", "node", FieldRole::name), after("message", "seq", FieldRole::sequence),
       after("tx time", "tx_ms"), after("battery", "supply", FieldRole::supply),
       after("RSSI", "rssi", FieldRole::rssi), after("SNR", "snr", FieldRole::snr)});
  const TakenReport report = read(
      frame, "Tarn: node 3, message 58, tx time 1409 ms, battery 3.57V, RSSI-107 dBm, SNR -2 dB");
  EXPECT_EQ(report.node_name, "3");
  EXPECT_EQ(report.sequence, 58U);
  EXPECT_EQ(report.readings, (Values{{2, 0, 1409}}));
  EXPECT_EQ(report.supply_v, 3.57);
  EXPECT_EQ(report.rssi_dbm, -107);
  EXPECT_EQ(report.snr_db, -2);
  EXPECT_EQ(again(frame, "node 3, message 58, tx time 9 ms, battery 3.5, RSSI -1, SNR 2"),
            "node 3,message 58,tx time 9,battery 3.5,RSSI -1,SNR 2");
  EXPECT_EQ(error_of(frame, "node 3, message 58, battery 3").field, 2U);
}

TEST(TextCodec, EndsANumberWhereItCantGoOn) {
  const FrameFacts frame = frame_of({after("T", "a_c")});
  const std::pair<const char*, double> rows[] = {
      {"T-29 dBm", -29}, {"T 3.57V", 3.57}, {"T.5", .5},  {"T1.5e3x", 1500}, {"T1.5e", 1.5},
      {"T 12.", 12},     {"T+4/160", 4},    {"aT7T8", 7}, {"T\t2 3", 2}};
  for (const auto& [line, value] : rows) {
    EXPECT_EQ(read(frame, line).readings, (Values{{0, 0, value}})) << line;
  }
  EXPECT_EQ(error_of(frame, "T no, T 5").fault, BodyFault::bad_value) << "the first time counts";
  EXPECT_EQ(error_of(frame, "T 0x02").fault, BodyFault::bad_value) << "hex digits unknown as such";
}

TEST(TextCodec, FindsTextsWithinAColumn) {
  FrameFacts frame = frame_of({field("seq", FieldRole::sequence, fleet::AfterText{"", {}, 1}),
                               field("power_dbm", FieldRole::reading, fleet::AfterText{"/", {}, 1}),
                               field("node", FieldRole::name, fleet::AfterText{"", {}, 0})});
  const TakenReport report = read(frame, "n/9 x,12/14#####,5");
  EXPECT_EQ(report.sequence, 12U);
  EXPECT_EQ(report.readings, (Values{{1, 0, 14}}));
  EXPECT_EQ(report.node_name, "n/9");
  EXPECT_EQ(again(frame, "n7,12/14#####,5"), "n7,12/14");
}

TEST(TextCodec, ReadsDecimalCommas) {
  FrameFacts frame = frame_of({column(0, "a_c"), after("b", "b_c"), column(2, "word")});
  frame.separator = ' ';
  frame.decimal = ',';
  frame.fields[2].words = {{1, "a,b"}};
  EXPECT_EQ(read(frame, "21,21 b-2,81V a,b").readings,
            (Values{{0, 0, 21.21}, {1, 0, -2.81}, {2, 0, 1}}));
  EXPECT_EQ(error_of(frame, "21.21 b2 a,b").fault, BodyFault::bad_value)
      << "a point could stand between thousands";
  frame.fields.pop_back();
  EXPECT_EQ(again(frame, "21,21 b-2,81V"), "21,21 b -2,81");
}

TEST(TextCodec, ReadsHexDigitsAsNumbers) {
  const FrameFacts frame =
      frame_of({field("seq", FieldRole::sequence, AtColumn{0, TextCoding::hex}),
                field("status", FieldRole::reading, fleet::AfterText{"st", TextCoding::hex})});
  const TakenReport report = read(frame, "00fF,st 0x2A.");
  EXPECT_EQ(report.sequence, 255U);
  EXPECT_EQ(report.readings, (Values{{1, 0, 42}}));
  EXPECT_EQ(again(frame, "00fF,st 0x2A."), "0xff,st 0x2a");
  EXPECT_EQ(error_of(frame, "x,st 1").fault, BodyFault::bad_value);
  EXPECT_EQ(error_of(frame, "-1,st 1").fault, BodyFault::bad_value);
  EXPECT_EQ(error_of(frame, "10112233445566778,st 1").fault, BodyFault::bad_value);
}

TEST(TextCodec, TakesNaNForNothing) {
  FrameFacts frame = frame_of({column(0, "a_c"), column(1, "b_c")});
  frame.fields[1].optional = true;
  EXPECT_EQ(read(frame, "1,NaN").readings, (Values{{0, 0, 1}}));
  EXPECT_EQ(error_of(frame, "nan,2").fault, BodyFault::missing_field);
}

TEST(TextCodec, ReadsTheNetworkAsAReading) {
  const FrameFacts frame =
      frame_of({field("pan", FieldRole::network, AtColumn{0, TextCoding::hex}), column(1, "a_c")});
  EXPECT_EQ(read(frame, "ABCD,1").readings, (Values{{0, 0, 0xABCD}, {1, 0, 1}}));
  EXPECT_EQ(again(frame, "ABCD,1"), "0xabcd,1");
  const FrameFacts plain = frame_of({column(0, "pan", FieldRole::network)});
  EXPECT_EQ(read(plain, "43981").readings, (Values{{0, 0, 43981}}));
  EXPECT_EQ(read(plain, "0xABCD").readings, (Values{{0, 0, 0xABCD}}));
  for (const std::string_view bad : {"ABCD", "-1", "1.5", "18446744073709551616"}) {
    EXPECT_EQ(error_of(plain, bad).fault, BodyFault::bad_value) << bad;
  }
}

TEST(TextCodec, WritesNoValueThatReadsAsAnotherFieldsText) {
  const FrameFacts frame =
      frame_of({after("node", "node", FieldRole::name), after("RSSI", "rssi", FieldRole::rssi)});
  const auto codec = make_text_codec(frame);
  ReportValues values;
  values.node_name = "RSSI";
  values.rssi_dbm = -80;
  const auto body = codec->encode(values);
  ASSERT_FALSE(body);
  EXPECT_EQ(body.error().fault, BodyFault::does_not_fit);
}

TEST(TextCodec, GivesBackWhatItWritesBetweenWords) {
  FrameFacts frame = frame_of({after("node", "node", FieldRole::name), after("T", "a_c"),
                               after("U", "b_c", FieldRole::supply)});
  frame.separator = ';';
  frame.decimal = ',';
  EXPECT_TRUE(rc::check([&] {
    const auto codec = make_text_codec(frame);
    const double any = std::bit_cast<double>(*rc::gen::arbitrary<std::uint64_t>());
    const FieldValue readings[] = {{1, 0, std::isfinite(any) ? any : 0.0}};
    ReportValues values;
    values.node_name = "n5";
    values.readings = readings;
    values.supply_v = *rc::gen::inRange(-1000, 1000) / 100.0;
    const auto body = codec->encode(values);
    RC_ASSERT(body.has_value());
    const auto decoded = test::decode(*codec, *body);
    RC_ASSERT(!decoded.error);
    RC_ASSERT(decoded.reports.front() == test::taken(values));
  }));
}

TEST(TextCodec, SendsNoNameThatWouldBreakTheLine) {
  const FrameFacts frame = frame_of({column(0, "node", FieldRole::name)});
  const auto codec = make_text_codec(frame);
  for (const std::string_view name : {"a,b", "a\nb", " a", "a ", "a\tb"}) {
    ReportValues values;
    values.node_name = name;
    const auto body = codec->encode(values);
    ASSERT_FALSE(body) << name;
    EXPECT_EQ(body.error().fault, BodyFault::does_not_fit);
  }
}

TEST(TextCodec, GivesBackEveryReadingThatItWrites) {
  const FrameFacts frame =
      frame_of({column(0, "seq", FieldRole::sequence), column(1, "a_c"), column(2, "b_c")});
  EXPECT_TRUE(rc::check([&] {
    const auto codec = make_text_codec(frame);
    const auto bits = *rc::gen::arbitrary<std::uint64_t>();
    const double any = std::bit_cast<double>(bits);
    const FieldValue readings[] = {{1, 0, std::isfinite(any) ? any : 0.0},
                                   {2, 0, *rc::gen::inRange(-100'000, 100'000) / 100.0}};
    ReportValues values;
    values.sequence = *rc::gen::arbitrary<std::uint64_t>();
    values.readings = readings;
    const auto body = codec->encode(values);
    RC_ASSERT(body.has_value());
    const auto decoded = test::decode(*codec, *body);
    RC_ASSERT(!decoded.error);
    RC_ASSERT(decoded.reports.front() == test::taken(values));
  }));
}

}  // namespace
}  // namespace fieldfare::wire
