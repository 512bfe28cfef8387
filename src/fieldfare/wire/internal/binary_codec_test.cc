// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <vector>

#include "fieldfare/wire/body_test_support.h"
#include "fieldfare/wire/internal/body_codecs.h"

// Frames here are invented; what they must give follows from the layout beside them.
namespace fieldfare::wire {
namespace {

using fleet::AtOctet;
using fleet::ByteOrder;
using fleet::FieldLayout;
using fleet::FieldRole;
using fleet::FrameFacts;
using fleet::NumberForm;
using fleet::NumberKind;
using fleet::Octets;
using fleet::OctetsForm;
using fleet::TextForm;
using test::TakenReport;

using Values = std::vector<std::tuple<int, int, double>>;

NumberForm u(int octets, ByteOrder order = ByteOrder::big) {
  return {NumberKind::unsigned_integer, octets, order, {}};
}
NumberForm i(int octets, ByteOrder order = ByteOrder::big) {
  return {NumberKind::signed_integer, octets, order, {}};
}
NumberForm bits(int low, int high, int octets = 1) {
  return {NumberKind::unsigned_integer, octets, ByteOrder::big, {{low, high}}};
}

FieldLayout field(std::string name, FieldRole role, fleet::BinaryForm form,
                  std::optional<int> at = std::nullopt) {
  return test::field(std::move(name), role, AtOctet{at, form});
}
FieldLayout reading(std::string name, fleet::BinaryForm form, double scale = 1) {
  FieldLayout layout = field(std::move(name), FieldRole::reading, form);
  layout.conversion.scale = scale;
  return layout;
}

FrameFacts frame_of(std::vector<FieldLayout> fields) {
  FrameFacts frame;
  frame.fields = std::move(fields);
  return frame;
}

/// Decodes `octets`, and checks that encoding what came gives them again.
TakenReport read(const FrameFacts& frame, const Octets& octets) {
  EXPECT_TRUE(fleet::faults_of(frame).empty());
  const auto codec = make_binary_codec(frame);
  struct Sink : ReportSink {
    BodyCodec* encoder = nullptr;
    TakenReport taken;
    Octets again;
    void report(const ReportValues& values) override {
      taken = test::taken(values);
      auto encoded = encoder->encode(values);
      EXPECT_TRUE(encoded);
      if (encoded) again = *encoded;
    }
  } sink;
  const auto encoder = make_binary_codec(frame);
  sink.encoder = encoder.get();
  const auto error = codec->decode(octets, sink);
  EXPECT_FALSE(error) << (error ? body_error_text(*error, frame) : "");
  EXPECT_TRUE(error || sink.again == octets) << "encoding gives other octets";
  return sink.taken;
}

BodyError error_of(const FrameFacts& frame, const Octets& octets) {
  EXPECT_TRUE(fleet::faults_of(frame).empty());
  const auto codec = make_binary_codec(frame);
  const auto decoded = test::decode(*codec, octets);
  EXPECT_TRUE(decoded.error);
  EXPECT_TRUE(decoded.reports.empty());
  return decoded.error.value_or(BodyError{});
}

TEST(BinaryCodec, ReadsAnAddressACounterAndReadings) {
  const FrameFacts frame = frame_of(
      {field("node", FieldRole::address, OctetsForm{8}), field("seq", FieldRole::sequence, u(2)),
       reading("temperature_c", i(2), 0.01), reading("humidity_pct", u(1), 0.5)});
  const TakenReport report =
      read(frame, {0x02, 0x4D, 0x21, 0, 0, 0, 0x5C, 0xE7, 0x01, 0x02, 0xF8, 0xA4, 0x83});
  EXPECT_EQ(report.address, (Address{0x024D210000005CE7, 16}));
  EXPECT_EQ(report.sequence, 258U);
  EXPECT_EQ(report.readings, (Values{{2, 0, -18.84}, {3, 0, 65.5}}));
}

TEST(BinaryCodec, ReadsAddressesOfAnyFormAsTheirLabelShowsThem) {
  const auto address = [](fleet::BinaryForm form, const Octets& octets) {
    return read(frame_of({field("node", FieldRole::address, form)}), octets).address->text();
  };
  EXPECT_EQ(address(OctetsForm{3, ByteOrder::big}, {0x02, 0x0B, 0xCD}), "020BCD");
  EXPECT_EQ(address(OctetsForm{3, ByteOrder::little}, {0xCD, 0x0B, 0x02}), "020BCD");
  EXPECT_EQ(address(u(2), {0x00, 0x5C}), "005C");
  EXPECT_EQ(address(u(2, ByteOrder::little), {0x5C, 0x00}), "005C");
  EXPECT_EQ(
      address(NumberForm{NumberKind::bcd, 4, ByteOrder::little, {}}, {0x78, 0x56, 0x34, 0x12}),
      "12345678");
  EXPECT_EQ(address(TextForm{6}, {'0', '2', '0', 'B', 'C', 'D'}), "020BCD");
}

TEST(BinaryCodec, ReadsTheNetworkAsAReadingOfAnyWidth) {
  const FrameFacts number = frame_of({field("pan", FieldRole::network, u(2, ByteOrder::little))});
  EXPECT_EQ(read(number, {0xCD, 0xAB}).readings, (Values{{0, 0, 0xABCD}}));
  const FrameFacts run =
      frame_of({field("pan", FieldRole::network, OctetsForm{8, ByteOrder::little})});
  EXPECT_EQ(read(run, {0xCD, 0xAB, 0, 0, 0, 0, 0, 0}).readings, (Values{{0, 0, 0xABCD}}));
  // Beyond 2^53 a double holds the nearest number; it must still be one of 64 bits.
  const auto codec = make_binary_codec(run);
  const auto all_ones = test::decode(*codec, Octets(8, 0xFF));
  ASSERT_EQ(all_ones.reports.size(), 1U);
  EXPECT_EQ(all_ones.reports[0].readings, (Values{{0, 0, 0x1.fffffffffffffp63}}));
}

TEST(BinaryCodec, KeepsIntegersAboveTwoToThe53Exact) {
  const FrameFacts frame = frame_of({field("seq", FieldRole::sequence, u(8))});
  EXPECT_EQ(read(frame, {0x80, 0, 0, 0, 0, 0, 0, 1}).sequence, 0x8000000000000001U);
}

TEST(BinaryCodec, ReadsFieldsThatShareOctets) {
  const FrameFacts frame =
      frame_of({field("battery_v", FieldRole::supply, bits(4, 7)),
                field("state", FieldRole::reading, bits(0, 3), 0),
                field("angle_deg", FieldRole::reading,
                      NumberForm{NumberKind::signed_integer, 2, ByteOrder::little, {{3, 12}}})});
  const TakenReport report = read(frame, {0x3A, 0xF8, 0x0F});
  EXPECT_EQ(report.supply_v, 3);
  EXPECT_EQ(report.readings, (Values{{1, 0, 10}, {2, 0, 511}}));
}

TEST(BinaryCodec, FindsFieldsFromTheFrontAndFromTheEnd) {
  FrameFacts frame =
      frame_of({field("payload", FieldRole::payload, OctetsForm{}),
                field("rssi", FieldRole::rssi, i(1), -4), field("lqi", FieldRole::lqi, u(1))});
  frame.check = fleet::CheckFacts{};
  frame.check->crc = "crc-16/ibm-sdlc";
  frame.check->at = -2;
  EXPECT_EQ(read(frame, {1, 2, 3, 0xB0, 200, 0, 0}).payload, (Octets{1, 2, 3}));
  const TakenReport report = read(frame, {0xB0, 200, 0, 0});
  EXPECT_EQ(report.payload, Octets{});
  EXPECT_EQ(report.rssi_dbm, -80);
  EXPECT_EQ(report.lqi, 200);
}

TEST(BinaryCodec, BeginsBehindStartAndLength) {
  FrameFacts frame = frame_of({reading("temperature_c", u(1)), reading("level_m", u(1))});
  frame.framing = fleet::Framing::length_prefixed;
  frame.start = {0xAA, 0x55};
  frame.prefix = fleet::LengthPrefix{2, 1, ByteOrder::big, 3};
  EXPECT_EQ(read(frame, {0xAA, 0x55, 2, 21, 4}).readings, (Values{{0, 0, 21}, {1, 0, 4}}));
}

TEST(BinaryCodec, ReadsAFieldOnlyWhereAnotherSaysThatItIsThere) {
  FrameFacts frame =
      frame_of({field("flags", FieldRole::part, u(1)), field("kind", FieldRole::part, u(1)),
                reading("a_c", u(1)), reading("b_c", u(1)), reading("c_c", u(1))});
  frame.fields[2].when = fleet::Presence{"flags", 1};
  frame.fields[3].when = fleet::Presence{"kind", std::nullopt, 7};
  EXPECT_EQ(read(frame, {0x02, 7, 10, 20, 30}).readings,
            (Values{{2, 0, 10}, {3, 0, 20}, {4, 0, 30}}));
  EXPECT_EQ(read(frame, {0x02, 6, 10, 30}).readings, (Values{{2, 0, 10}, {4, 0, 30}}));
  EXPECT_EQ(read(frame, {0xFD, 7, 20, 30}).readings, (Values{{3, 0, 20}, {4, 0, 30}}));
  EXPECT_EQ(error_of(frame, {0x02, 7, 10, 20}).fault, BodyFault::too_short);
}

TEST(BinaryCodec, MakesFlagsAndCountsFitWhatIsSent) {
  FrameFacts frame =
      frame_of({field("flags", FieldRole::part, u(1)), field("count", FieldRole::part, u(1)),
                reading("a_c", u(1)), reading("b_c", u(1))});
  frame.fields[2].when = fleet::Presence{"flags", 6};
  frame.fields[3].repeat = fleet::Repeat{std::string{"count"}};
  const auto codec = make_binary_codec(frame);
  const FieldValue readings[] = {{2, 0, 9}, {3, 0, 1}, {3, 1, 2}};
  ReportValues values;
  values.readings = readings;
  EXPECT_EQ(*codec->encode(values), (Octets{0x40, 2, 9, 1, 2}));
  EXPECT_EQ(*codec->encode({}), (Octets{0, 0}));
}

TEST(BinaryCodec, ReadsFieldsThatComeSeveralTimes) {
  FrameFacts frame = frame_of({field("count", FieldRole::part, u(1)),
                               reading("temperature_c", i(2), 0.1), reading("level_m", u(1))});
  frame.fields[1].repeat = fleet::Repeat{std::string{"count"}};
  EXPECT_EQ(read(frame, {2, 0, 215, 0xFF, 0xFF, 7}).readings,
            (Values{{1, 0, 21.5}, {1, 1, -0.1}, {2, 0, 7}}));
  EXPECT_EQ(read(frame, {0, 7}).readings, (Values{{2, 0, 7}}));
  EXPECT_EQ(error_of(frame, {3, 0, 215, 0, 215, 7}).fault, BodyFault::too_short);

  frame.fields[0].place = AtOctet{std::nullopt, u(2)};
  EXPECT_EQ(error_of(frame, {0xFF, 0xFF, 0, 215}).fault, BodyFault::too_many);
}

TEST(BinaryCodec, ReadsColumnsThatLieInterleaved) {
  FrameFacts frame = frame_of({field("a_c", FieldRole::reading, u(1), 1),
                               field("b_c", FieldRole::reading, u(1), 2),
                               field("seq", FieldRole::sequence, u(1), 0)});
  frame.fields[0].repeat = frame.fields[1].repeat = fleet::Repeat{2, 2};
  EXPECT_EQ(read(frame, {5, 1, 2, 3, 4}).readings,
            (Values{{0, 0, 1}, {0, 1, 3}, {1, 0, 2}, {1, 1, 4}}));
}

TEST(BinaryCodec, LetsOptionalFieldsLiePastTheEnd) {
  FrameFacts frame = frame_of({reading("a_c", u(1)), reading("b_c", u(2)), reading("c_c", u(1))});
  frame.fields[1].optional = frame.fields[2].optional = true;
  EXPECT_EQ(read(frame, {1}).readings, (Values{{0, 0, 1}}));
  EXPECT_EQ(read(frame, {1, 0, 2}).readings, (Values{{0, 0, 1}, {1, 0, 2}}));
  EXPECT_EQ(read(frame, {1, 0, 2, 3}).readings, (Values{{0, 0, 1}, {1, 0, 2}, {2, 0, 3}}));

  frame.exact_length = true;
  EXPECT_EQ(error_of(frame, {1, 0}).fault, BodyFault::too_long);
  frame.exact_length = false;
  const auto decoded = test::decode(*make_binary_codec(frame), Octets{1, 9});
  ASSERT_EQ(decoded.reports.size(), 1U);
  EXPECT_EQ(decoded.reports[0].readings, (Values{{0, 0, 1}})) << "half a field, and none behind it";
}

TEST(BinaryCodec, WritesAnOptionalFieldThatHasNoValueWhereOneStandsBehindIt) {
  FrameFacts frame = frame_of({reading("b_c", u(2)), reading("c_c", u(1))});
  frame.fields[0].optional = frame.fields[1].optional = true;
  frame.fields[0].missing = 0xFFFF;
  EXPECT_EQ(read(frame, {0xFF, 0xFF, 3}).readings, (Values{{1, 0, 3}}));
  EXPECT_TRUE(read(frame, {}).readings.empty());
}

TEST(BinaryCodec, TakesNoReadingFromWhatMeansNotMeasured) {
  FrameFacts frame = frame_of({reading("a_c", i(2), 0.01),
                               reading("b_c", NumberForm{NumberKind::real, 4, ByteOrder::big, {}}),
                               field("rssi", FieldRole::rssi, i(1))});
  frame.fields[0].missing = -32768;
  frame.fields[2].missing = 0;
  const TakenReport report = read(frame, {0x80, 0x00, 0x7F, 0xC0, 0, 0, 0});
  EXPECT_TRUE(report.readings.empty());
  EXPECT_EQ(report.rssi_dbm, std::nullopt);
}

TEST(BinaryCodec, RefusesToSendAMeasurementThatMeansNotMeasured) {
  FrameFacts frame = frame_of({reading("a_c", u(1))});
  frame.fields[0].missing = 255;
  const auto codec = make_binary_codec(frame);
  const auto encode = [&](double value) {
    const FieldValue readings[] = {{0, 0, value}};
    ReportValues values;
    values.readings = readings;
    return codec->encode(values);
  };
  EXPECT_EQ(*encode(254), Octets{254});
  for (const double value : {255.0, 256.0, -1.0}) {
    const auto refused = encode(value);
    ASSERT_FALSE(refused) << value;
    EXPECT_EQ(refused.error().fault, BodyFault::does_not_fit);
    EXPECT_EQ(refused.error().field, 0U);
  }
}

TEST(BinaryCodec, TellsAFrameOfAnotherKindByItsConstants) {
  FrameFacts frame = frame_of({field("kind", FieldRole::part, OctetsForm{2}),
                               field("tag", FieldRole::part, TextForm{3}), reading("a_c", u(1))});
  frame.fields[0].equals = Octets{0xCA, 0xFE};
  frame.fields[1].equals = Octets{'T', '1'};
  EXPECT_EQ(read(frame, {0xCA, 0xFE, 'T', '1', 0, 5}).readings, (Values{{2, 0, 5}}));
  EXPECT_EQ(error_of(frame, {0xCA, 0xFF, 'T', '1', 0, 5}).fault, BodyFault::another_kind);
  const BodyError error = error_of(frame, {0xCA, 0xFE, 'T', '1', '2', 5});
  EXPECT_EQ(error.fault, BodyFault::another_kind);
  EXPECT_EQ(error.offset, 2U);
  EXPECT_EQ(error.field, 1U);
}

TEST(BinaryCodec, TellsWhereAFrameEndsTooEarlyOrGoesOn) {
  FrameFacts frame = frame_of({reading("a_c", u(1)), reading("b_c", u(2))});
  const BodyError short_one = error_of(frame, {1, 2});
  EXPECT_EQ(short_one.fault, BodyFault::too_short);
  EXPECT_EQ(short_one.offset, 2U);
  EXPECT_EQ(short_one.field, 1U);
  EXPECT_EQ(error_of(frame, {}).fault, BodyFault::too_short);

  EXPECT_FALSE(test::decode(*make_binary_codec(frame), Octets{1, 2, 3, 4}).error);
  frame.exact_length = true;
  const BodyError long_one = error_of(frame, {1, 2, 3, 4});
  EXPECT_EQ(long_one.fault, BodyFault::too_long);
  EXPECT_EQ(long_one.offset, 3U);
}

TEST(BinaryCodec, RefusesDigitsThatAreNone) {
  const FrameFacts frame =
      frame_of({reading("volume_m3", NumberForm{NumberKind::bcd, 2, ByteOrder::little, {}}, 0.1)});
  EXPECT_EQ(read(frame, {0x34, 0x12}).readings, (Values{{0, 0, 123.4}}));
  EXPECT_EQ(error_of(frame, {0x3A, 0x12}).fault, BodyFault::bad_value);
}

TEST(BinaryCodec, ReadsTimesFromTheirEpoch) {
  FrameFacts frame = frame_of({field("time", FieldRole::time, u(4)),
                               field("age", FieldRole::age, u(2, ByteOrder::little))});
  frame.fields[0].epoch = Instant{946'684'800'000'000'000};  // 2000-01-01
  frame.fields[1].conversion.scale = 0.01;
  const TakenReport report = read(frame, {0x31, 0x39, 0x8A, 0x80, 0x64, 0x00});
  // 0x31398A80 = 825'854'592 s; the sum with the epoch by hand.
  EXPECT_EQ(report.time, (Instant{1'772'539'392'000'000'000}));
  EXPECT_EQ(report.age, (Duration{1'000'000'000}));
}

TEST(BinaryCodec, ReadsTextUpToItsEnd) {
  const FrameFacts frame =
      frame_of({field("node", FieldRole::name, TextForm{}), reading("temperature_c", TextForm{5}),
                field("receiver", FieldRole::receiver, TextForm{})});
  const TakenReport report = read(frame, {'n', '7', 0, '-', '2', '.', '5', 0, 'l', 'o', 'f', 't'});
  EXPECT_EQ(report.node_name, "n7");
  EXPECT_EQ(report.receiver, "loft");
  EXPECT_EQ(report.readings, (Values{{1, 0, -2.5}}));
  EXPECT_EQ(error_of(frame, {'n', 0, '2', '1', 'x', 0, 0, 'r'}).fault, BodyFault::bad_value);
  EXPECT_EQ(error_of(frame, {'\n', 0, '2', '1', 0, 0, 0, 'r'}).fault, BodyFault::bad_value);
  EXPECT_EQ(error_of(frame, {0xFF, 0, '2', '1', 0, 0, 0, 'r'}).fault, BodyFault::bad_value);
}

TEST(BinaryCodec, KeepsTheNumbersOfAnEnumeration) {
  FrameFacts frame = frame_of({reading("door", u(1))});
  frame.fields[0].words = {{0, "shut"}, {1, "open"}};
  EXPECT_EQ(read(frame, {1}).readings, (Values{{0, 0, 1}}));
}

TEST(BinaryCodec, TellsOfALoopThatCarriesNoMeasurement) {
  // NAMUR NE 43 as quoted in public copies: 3.6 mA and less is a failure.
  FrameFacts frame = frame_of({reading("level_m", u(2), 0.001)});
  frame.fields[0].conversion.then = fleet::LoopSensor{0, 5};
  const TakenReport failed = read(frame, {0x0E, 0x10});
  EXPECT_TRUE(failed.readings.empty());
  EXPECT_EQ(failed.loop_faults,
            (Values{{0, static_cast<int>(physics::LoopState::failed_low), 3.6}}));
  EXPECT_EQ(read(frame, {0x2E, 0xE0}).readings, (Values{{0, 0, 2.5}}));
}

TEST(BinaryCodec, FillsFramesOfAFixedLength) {
  FrameFacts frame = frame_of({reading("a_c", u(1)), reading("b_c", u(1))});
  frame.framing = fleet::Framing::delimited;
  frame.start = {0x7B};
  frame.length = 4;
  frame.fields[1].optional = true;
  frame.fields[1].missing = 0xEE;
  const auto codec = make_binary_codec(frame);
  EXPECT_EQ(*codec->encode({}), (Octets{0x7B, 0, 0xEE, 0}));
}

}  // namespace
}  // namespace fieldfare::wire
