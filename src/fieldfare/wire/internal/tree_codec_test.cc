// SPDX-License-Identifier: Apache-2.0
// All layouts, nodes and values are invented, unless a source stands beside them.
#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <cmath>
#include <nlohmann/json.hpp>

#include "fieldfare/wire/body_test_support.h"
#include "fieldfare/wire/internal/body_codecs.h"
#include "fieldfare/wire/internal/octet_text.h"

namespace fieldfare::wire {
namespace {

using fleet::AtPointer;
using fleet::Body;
using fleet::FieldLayout;
using fleet::FieldRole;
using fleet::FrameFacts;
using fleet::Octets;
using fleet::TextCoding;
using nlohmann::json;
using test::Decoded;
using test::field;
using Readings = std::vector<std::tuple<int, int, double>>;

FieldLayout at(FieldRole role, std::string pointer, TextCoding coding = TextCoding::plain) {
  std::string name = pointer;
  return field(std::move(name), role, AtPointer{std::move(pointer), coding});
}

FrameFacts facts(std::vector<FieldLayout> fields, Body body = Body::json) {
  FrameFacts frame;
  frame.body = body;
  frame.fields = std::move(fields);
  return frame;
}

Decoded decode(const FrameFacts& frame, std::string_view text) {
  return test::decode(*make_tree_codec(frame), text);
}
Decoded decode_hex(const FrameFacts& frame, std::string_view hex) {
  return test::decode(*make_tree_codec(frame), *octets_of_hex(hex));
}

ReportValues with(std::span<const FieldValue> readings, std::string_view name = {}) {
  ReportValues values;
  values.node_name = name;
  values.readings = readings;
  return values;
}

/// What a single reading at /x makes of a JSON value.
Decoded reading(FieldLayout layout, const std::string& value) {
  return decode(facts({std::move(layout)}), "{\"x\":" + value + "}");
}
FieldLayout x(FieldRole role = FieldRole::reading) { return at(role, "/x"); }

TEST(TreeCodec, GivesEveryRoleOfAReport) {
  const FrameFacts frame = facts(
      {at(FieldRole::address, "/dev/eui"), at(FieldRole::name, "/dev/name"),
       at(FieldRole::sequence, "/seq"), at(FieldRole::time, "/at"), at(FieldRole::age, "/age"),
       at(FieldRole::receiver, "/rx/0/id"), at(FieldRole::rssi, "/rx/0/rssi"),
       at(FieldRole::snr, "/rx/0/snr"), at(FieldRole::lqi, "/rx/0/lqi"),
       at(FieldRole::noise, "/rx/0/noise"), at(FieldRole::supply, "/v"),
       at(FieldRole::payload, "/data", TextCoding::base64), at(FieldRole::reading, "/t")});
  const Decoded decoded = decode(frame, R"({"dev": {"eui": "02-4D-21-00-00-00-5C-E7",
      "name": "cave 1"}, "seq": 18446744073709551615, "at": "2026-03-02T07:15:00.25Z",
      "age": 1.5, "rx": [{"id": "loft", "rssi": -87.5, "snr": 3, "lqi": 255, "noise": -101}],
      "v": 3.61, "data": "aGkgCg==", "t": 9.81, "more": [{}]})");
  ASSERT_FALSE(decoded.error);
  test::TakenReport expected;
  expected.address = Address{0x024D210000005CE7, 16};
  expected.node_name = "cave 1";
  expected.sequence = UINT64_MAX;
  expected.time = parse_rfc3339("2026-03-02T07:15:00.25Z");
  expected.age = Duration{1'500'000'000};
  expected.receiver = "loft";
  expected.rssi_dbm = -87.5;
  expected.snr_db = 3;
  expected.lqi = 255;
  expected.noise_dbm = -101;
  expected.supply_v = 3.61;
  expected.payload = Octets{0x68, 0x69, 0x20, 0x0A};
  expected.readings = {{12, 0, 9.81}};
  ASSERT_EQ(decoded.reports.size(), 1u);
  EXPECT_EQ(decoded.reports[0], expected);
}

TEST(TreeCodec, ReadsNumbersHoweverTheyAreSaid) {
  FieldLayout scaled = x();
  scaled.conversion = {.scale = 0.5, .offset = 1, .then = {}};
  scaled.words = {{4, "open"}, {-2, "7"}};
  const std::pair<std::string, double> rows[] = {{"20", 11},      {"20.5", 11.25}, {"\"20\"", 11},
                                                 {"\"2e1\"", 11}, {"true", 1.5},   {"false", 1},
                                                 {"\"open\"", 3}, {"\"7\"", 0},    {"-4", -1}};
  for (const auto& [text, value] : rows) {
    const Decoded decoded = reading(scaled, text);
    ASSERT_EQ(decoded.reports.size(), 1u) << text;
    EXPECT_EQ(decoded.reports[0].readings, (Readings{{0, 0, value}})) << text;
  }
}

TEST(TreeCodec, ReadsHexDigitsAsNumbersWhereTheCodingSaysSo) {
  const Decoded decoded =
      decode(facts({at(FieldRole::reading, "/x", TextCoding::hex)}), R"({"x": "0x1F"})");
  ASSERT_EQ(decoded.reports.size(), 1u);
  EXPECT_EQ(decoded.reports[0].readings, (Readings{{0, 0, 31}}));
}

TEST(TreeCodec, ReadsTheNetworkHoweverItIsSaid) {
  const std::tuple<const char*, TextCoding, double> rows[] = {
      {"43981", TextCoding::plain, 0xABCD},       {"\"43981\"", TextCoding::plain, 0xABCD},
      {"\"0xabcd\"", TextCoding::plain, 0xABCD},  {"\"ABCD\"", TextCoding::hex, 0xABCD},
      {"\"q80=\"", TextCoding::base64, 0xABCD},  // RFC 4648 section 4, by hand: AB CD
      {"4294967296.0", TextCoding::plain, 0x1p32}};
  for (const auto& [text, coding, value] : rows) {
    const FrameFacts frame = facts({at(FieldRole::network, "/x", coding)});
    const Decoded decoded = decode(frame, "{\"x\":" + std::string{text} + "}");
    ASSERT_EQ(decoded.reports.size(), 1u) << text;
    EXPECT_EQ(decoded.reports[0].readings, (Readings{{0, 0, value}})) << text;
    ReportValues values;
    const FieldValue network{0, 0, value};
    values.readings = {&network, 1};
    const auto body = make_tree_codec(frame)->encode(values);
    ASSERT_TRUE(body) << text;
    const auto codec = make_tree_codec(frame);
    EXPECT_EQ(test::decode(*codec, *body).reports, decoded.reports) << text;
  }
  EXPECT_EQ(reading(x(FieldRole::network), "-1").fault(), BodyFault::bad_value);
  EXPECT_EQ(reading(x(FieldRole::network), "1.5").fault(), BodyFault::bad_value);
}

TEST(TreeCodec, RefusesReadingsThatAreNone) {
  for (const std::string text : {"\"warm\"", "\"\"", "[]", "{}", "[1]", "\"1 \"", "\"nan\""}) {
    const Decoded decoded = reading(x(), text);
    EXPECT_EQ(decoded.fault(), BodyFault::bad_value) << text;
    EXPECT_EQ(decoded.error->field, 0u);
    EXPECT_TRUE(decoded.reports.empty());
  }
  FieldLayout hex = at(FieldRole::reading, "/x", TextCoding::hex);
  EXPECT_EQ(reading(hex, "\"2g\"").fault(), BodyFault::bad_value);
  EXPECT_EQ(reading(hex, "20").fault(), std::nullopt);
}

TEST(TreeCodec, TakesNullAndNaNForNothing) {
  FieldLayout optional = x();
  optional.optional = true;
  EXPECT_EQ(reading(x(), "null").fault(), BodyFault::missing_field);
  EXPECT_EQ(decode(facts({x()}), "{}").fault(), BodyFault::missing_field);
  EXPECT_EQ(decode(facts({x()}), "[1]").fault(), BodyFault::missing_field);
  EXPECT_EQ(decode_hex(facts({x()}, Body::cbor), "A16178F97E00").fault(), BodyFault::missing_field);
  EXPECT_EQ(decode_hex(facts({x()}, Body::cbor), "A16178F97C00").fault(), BodyFault::bad_value);
  for (const std::string_view body : {"{\"x\":null}", "{}", "{\"y\":1}"}) {
    const Decoded decoded = decode(facts({optional}), body);
    ASSERT_EQ(decoded.reports.size(), 1u) << body;
    EXPECT_TRUE(decoded.reports[0].readings.empty());
  }
}

TEST(TreeCodec, GivesNoReadingForWhatMeansNotMeasured) {
  FieldLayout layout = x();
  layout.missing = -32768;
  for (const std::string text : {"-32768", "-32768.0", "\"-32768\""}) {
    const Decoded decoded = reading(layout, text);
    EXPECT_FALSE(decoded.error) << text;
    EXPECT_TRUE(decoded.reports[0].readings.empty()) << text;
  }
  EXPECT_EQ(reading(layout, "-32767").reports[0].readings.size(), 1u);
}

TEST(TreeCodec, TellsFailedLoopsFromReadings) {
  FieldLayout layout = x();
  layout.conversion.then = fleet::LoopSensor{0, 160};
  EXPECT_EQ(reading(layout, "12").reports[0].readings, (Readings{{0, 0, 80}}));
  // NAMUR NE 43, as quoted in public copies: 3.6 mA and less say failure.
  const Decoded failed = reading(layout, "3.5");
  ASSERT_EQ(failed.reports.size(), 1u);
  EXPECT_TRUE(failed.reports[0].readings.empty());
  EXPECT_EQ(failed.reports[0].loop_faults,
            (Readings{{0, static_cast<int>(physics::LoopState::failed_low), 3.5}}));
}

TEST(TreeCodec, ReadsAddressesExactly) {
  const std::tuple<TextCoding, std::string, Address> rows[] = {
      {TextCoding::plain, "\"024D21FFFE005CE7\"", {0x024D21FFFE005CE7, 16}},
      {TextCoding::plain, "\"02:4d:21:00:5c:e7\"", {0x024D21005CE7, 12}},
      {TextCoding::hex, "\"5ce7\"", {0x5CE7, 4}},
      {TextCoding::base64, "\"Ak0h//4AXOc=\"", {0x024D21FFFE005CE7, 16}},
      {TextCoding::base64, "\"Ak0h__4AXOc\"", {0x024D21FFFE005CE7, 16}},
      {TextCoding::plain, "23783", {0x5CE7, 4}},
      {TextCoding::plain, "65536", {0x10000, 8}},
      {TextCoding::plain, "165867193957607655", {165867193957607655, 16}},
      {TextCoding::plain, "18446744073709551615", {UINT64_MAX, 16}}};
  for (const auto& [coding, text, address] : rows) {
    const Decoded decoded = reading(at(FieldRole::address, "/x", coding), text);
    ASSERT_EQ(decoded.reports.size(), 1u) << text;
    EXPECT_EQ(decoded.reports[0].address, address) << text;
  }
  for (const std::string text : {"\"cave\"", "\"\"", "-1", "1.5", "18446744073709551616", "true",
                                 "\"0123456789ABCDEF0\"", "[]"}) {
    EXPECT_EQ(reading(x(FieldRole::address), text).fault(), BodyFault::bad_value) << text;
  }
  const FrameFacts cbor = facts({x(FieldRole::address)}, Body::cbor);
  EXPECT_EQ(decode_hex(cbor, "A1617848024D21FFFE005CE7").reports.at(0).address,
            (Address{0x024D21FFFE005CE7, 16}));
  EXPECT_EQ(decode_hex(cbor, "A1617840").fault(), BodyFault::bad_value);
}

TEST(TreeCodec, ReadsSequencesExactly) {
  const std::pair<std::string, std::uint64_t> rows[] = {{"9007199254740993", 9007199254740993},
                                                        {"18446744073709551615", UINT64_MAX},
                                                        {"\"18446744073709551615\"", UINT64_MAX},
                                                        {"7.0", 7},
                                                        {"1e3", 1000}};
  for (const auto& [text, sequence] : rows) {
    EXPECT_EQ(reading(x(FieldRole::sequence), text).reports.at(0).sequence, sequence) << text;
  }
  for (const std::string text : {"-1", "1.5", "1e300", "18446744073709551616", "\"7a\"", "true"}) {
    EXPECT_EQ(reading(x(FieldRole::sequence), text).fault(), BodyFault::bad_value) << text;
  }
}

TEST(TreeCodec, ReadsTimesAsTextAndAsNumbersOfTheirUnit) {
  FieldLayout layout = x(FieldRole::time);
  const auto time = [&](const std::string& text) {
    const Decoded decoded = reading(layout, text);
    return decoded.reports.empty() || !decoded.reports[0].time
               ? std::string{"none"}
               : to_rfc3339(*decoded.reports[0].time);
  };
  EXPECT_EQ(time("\"2026-03-02T08:15:00+01:00\""), "2026-03-02T07:15:00Z");
  // 2013-03-21T20:04:00Z is 1363896240: RFC 8949 section 3.4.2.
  EXPECT_EQ(time("1363896240"), "2013-03-21T20:04:00Z");
  EXPECT_EQ(time("1363896240.5"), "2013-03-21T20:04:00.500Z");
  EXPECT_EQ(time("\"1363896240\""), "2013-03-21T20:04:00Z");
  EXPECT_EQ(time("1e99"), "none");
  EXPECT_EQ(time("9223372037"), "none");
  EXPECT_EQ(time("\"yesterday\""), "none");
  layout.conversion.scale = 0.001;
  EXPECT_EQ(time("1363896240123"), "2013-03-21T20:04:00.123Z");
  layout.conversion.scale = 1e-9;
  EXPECT_EQ(time("1363896240123456789"), "2013-03-21T20:04:00.123456789Z");
  layout.conversion.scale = 60;
  layout.epoch = *parse_rfc3339("2000-01-01T00:00:00Z");
  EXPECT_EQ(time("1440"), "2000-01-02T00:00:00Z");
}

// RFC 8949 appendix A: 0("2013-03-21T20:04:00Z"), 1(1363896240), 1(1363896240.5).
TEST(TreeCodec, ReadsTheTimesOfCborTags) {
  const FrameFacts frame = facts({x(FieldRole::time)}, Body::cbor);
  const std::pair<std::string, std::string_view> rows[] = {
      {"C074323031332D30332D32315432303A30343A30305A", "2013-03-21T20:04:00Z"},
      {"C11A514B67B0", "2013-03-21T20:04:00Z"},
      {"C1FB41D452D9EC200000", "2013-03-21T20:04:00.500Z"}};
  for (const auto& [hex, time] : rows) {
    EXPECT_EQ(decode_hex(frame, "A16178" + hex).reports.at(0).time, parse_rfc3339(time)) << hex;
  }
}

TEST(TreeCodec, RefusesNegativeAges) {
  FieldLayout layout = x(FieldRole::age);
  layout.conversion.scale = 0.001;
  EXPECT_EQ(reading(layout, "1500").reports.at(0).age, (Duration{1'500'000'000}));
  EXPECT_EQ(reading(layout, "-1").fault(), BodyFault::bad_value);
}

TEST(TreeCodec, TakesItsConstantAsTextAndAsANumber) {
  FieldLayout kind = at(FieldRole::part, "/kind");
  kind.equals = Octets{'4', '2'};
  const FrameFacts frame = facts({kind});
  for (const std::string_view body : {"{\"kind\":42}", "{\"kind\":\"42\"}", "{\"kind\":42.0}"}) {
    EXPECT_FALSE(decode(frame, body).error) << body;
  }
  for (const std::string_view body :
       {"{\"kind\":43}", "{\"kind\":\"042\"}", "{\"kind\":null}", "{}", "{\"kind\":true}"}) {
    EXPECT_EQ(decode(frame, body).fault(), BodyFault::another_kind) << body;
  }
}

TEST(TreeCodec, ReadsListsOfReportsAllOrNone) {
  FrameFacts frame = facts({at(FieldRole::sequence, "/n"), at(FieldRole::reading, "/v/t")});
  frame.each = "/up/list";
  const Decoded both =
      decode(frame, R"({"up":{"list":[{"n":1,"v":{"t":5}},{"n":2,"v":{"t":6}}]}})");
  ASSERT_EQ(both.reports.size(), 2u);
  EXPECT_EQ(both.reports[1].sequence, 2u);
  EXPECT_EQ(both.reports[1].readings, (Readings{{1, 0, 6}}));
  const Decoded spoiled = decode(frame, R"({"up":{"list":[{"n":1,"v":{"t":5}},{"n":2,"v":{}}]}})");
  EXPECT_EQ(spoiled.fault(), BodyFault::missing_field);
  EXPECT_EQ(spoiled.error->field, 1u);
  EXPECT_TRUE(spoiled.reports.empty());
  EXPECT_FALSE(decode(frame, R"({"up":{"list":[]}})").error);
  EXPECT_EQ(decode(frame, R"({"up":{}})").fault(), BodyFault::missing_field);
  EXPECT_EQ(decode(frame, R"({"up":{"list":{}}})").fault(), BodyFault::bad_value);
}

TEST(TreeCodec, BoundsTheReportsOfABody) {
  FrameFacts frame = facts({at(FieldRole::reading, "")});
  frame.each = "/l";
  std::string body = "{\"l\":[0";
  for (std::size_t i = 1; i < kMostReportsInBody; ++i) body += ",0";
  EXPECT_EQ(decode(frame, body + "]}").reports.size(), kMostReportsInBody);
  EXPECT_EQ(decode(frame, body + ",0]}").fault(), BodyFault::too_many);
}

TEST(TreeCodec, ReadsFieldsThatRepeatFromAList) {
  FieldLayout fixed = at(FieldRole::reading, "/t");
  fixed.repeat = fleet::Repeat{3};
  EXPECT_EQ(decode(facts({fixed}), "{\"t\":[1,2,3]}").reports.at(0).readings,
            (Readings{{0, 0, 1}, {0, 1, 2}, {0, 2, 3}}));
  EXPECT_EQ(decode(facts({fixed}), "{\"t\":[1,2]}").fault(), BodyFault::missing_field);
  EXPECT_EQ(decode(facts({fixed}), "{\"t\":[1,null,2]}").fault(), BodyFault::missing_field);
  EXPECT_EQ(decode(facts({fixed}), "{\"t\":[1,2,3,4]}").fault(), BodyFault::too_many);
  EXPECT_EQ(decode(facts({fixed}), "{\"t\":1}").fault(), BodyFault::bad_value);
  fixed.optional = true;
  EXPECT_EQ(decode(facts({fixed}), "{\"t\":[1,null,2]}").reports.at(0).readings,
            (Readings{{0, 0, 1}, {0, 2, 2}}));
  FieldLayout counted = at(FieldRole::reading, "/t");
  counted.repeat = fleet::Repeat{"/n"};
  const FrameFacts frame = facts({at(FieldRole::part, "/n"), counted});
  EXPECT_EQ(decode(frame, "{\"n\":2,\"t\":[1,2]}").reports.at(0).readings.size(), 2u);
  EXPECT_EQ(decode(frame, "{\"n\":1,\"t\":[1,2]}").fault(), BodyFault::too_many);
  EXPECT_EQ(decode(frame, "{\"n\":3,\"t\":[1,2]}").fault(), BodyFault::missing_field);
  EXPECT_EQ(decode(frame, "{\"n\":-1,\"t\":[1,2]}").fault(), BodyFault::too_many);
}

TEST(TreeCodec, ExpectsFieldsOnlyWhereAnotherSaysThatTheyAreThere) {
  FieldLayout by_bit = at(FieldRole::reading, "/t");
  by_bit.when = fleet::Presence{"/flags", 1};
  FieldLayout by_value = at(FieldRole::reading, "/h");
  by_value.when = fleet::Presence{"/flags", {}, 4};
  const FrameFacts frame = facts({at(FieldRole::part, "/flags"), by_bit, by_value});
  EXPECT_EQ(decode(frame, "{\"flags\":2,\"t\":5,\"h\":6}").reports.at(0).readings,
            (Readings{{1, 0, 5}}));
  EXPECT_EQ(decode(frame, "{\"flags\":4,\"t\":5,\"h\":6}").reports.at(0).readings,
            (Readings{{2, 0, 6}}));
  EXPECT_EQ(decode(frame, "{\"flags\":2}").fault(), BodyFault::missing_field);
  EXPECT_FALSE(decode(frame, "{\"flags\":1}").error);
}

TEST(TreeCodec, FindsItsBodyBetweenStartLengthAndCheck) {
  FrameFacts frame = facts({x()});
  frame.framing = fleet::Framing::length_prefixed;
  frame.start = {0xAA};
  frame.prefix = fleet::LengthPrefix{.at = 1, .octets = 2, .adds = 3};
  frame.check = fleet::CheckFacts{.octets = 2, .at = -2, .from = 0, .to = -2};
  test::TakenReport expected;
  expected.readings = {{0, 0, 5}};
  const FieldValue value{0, 0, 5};
  const auto body = make_tree_codec(frame)->encode(with({&value, 1}));
  ASSERT_TRUE(body);
  EXPECT_EQ(test::text_of(*body), std::string("\xAA\x00\x09{\"x\":5}\x00\x00", 12));
  EXPECT_EQ(test::decode(*make_tree_codec(frame), *body).reports.at(0), expected);
  EXPECT_EQ(decode(frame, "\xAA").fault(), BodyFault::too_short);
  const Decoded damaged = decode(frame, std::string("\xAA\x00\x09{x}\x00\x00", 8));
  EXPECT_EQ(damaged.fault(), BodyFault::bad_syntax);
  EXPECT_EQ(damaged.error->offset, 4u);
}

TEST(TreeCodec, MakesObjectsAndListsAlongThePointers) {
  FrameFacts frame = facts({at(FieldRole::name, "/dev/id~1x"), at(FieldRole::reading, "/v/0/t"),
                            at(FieldRole::reading, "/v/1/t"), at(FieldRole::reading, "/v/1/h")});
  frame.each = "/list";
  frame.fields[3].optional = true;
  const FieldValue values[] = {{1, 0, 5}, {2, 0, 6.5}};
  const auto body = make_tree_codec(frame)->encode(with(values, "k"));
  ASSERT_TRUE(body);
  EXPECT_EQ(test::text_of(*body), R"({"list":[{"dev":{"id/x":"k"},"v":[{"t":5},{"t":6.5}]}]})");
}

TEST(TreeCodec, SaysWhatDoesNotFit) {
  const FrameFacts clash = facts({at(FieldRole::reading, "/a"), at(FieldRole::reading, "/a/b")});
  const auto body = make_tree_codec(clash)->encode({});
  ASSERT_FALSE(body);
  EXPECT_EQ(body.error().fault, BodyFault::does_not_fit);
  EXPECT_EQ(body.error().field, 1u);
  EXPECT_FALSE(make_tree_codec(facts({x(FieldRole::name)}))->encode(with({}, "\xFF")));
  FieldLayout missing = x();
  missing.missing = 5;
  const FrameFacts with_missing = facts({missing});
  const FieldValue value{0, 0, 5};
  EXPECT_FALSE(make_tree_codec(with_missing)->encode(with({&value, 1})));
  EXPECT_EQ(test::text_of(*make_tree_codec(with_missing)->encode({})), "{\"x\":5}");
  FrameFacts tight = facts({x()});
  tight.most_octets = 6;
  EXPECT_FALSE(make_tree_codec(tight)->encode({}));
}

TEST(TreeCodec, WritesPartsThatOthersNeed) {
  FieldLayout counted = at(FieldRole::reading, "/t");
  counted.repeat = fleet::Repeat{"/n"};
  FieldLayout flagged = at(FieldRole::reading, "/h");
  flagged.when = fleet::Presence{"/flags", 3};
  const FrameFacts frame =
      facts({at(FieldRole::part, "/flags"), at(FieldRole::part, "/n"), counted, flagged});
  const FieldValue values[] = {{2, 0, 1}, {2, 1, 2}, {3, 0, 9}};
  EXPECT_EQ(test::text_of(*make_tree_codec(frame)->encode(with(values))),
            R"({"flags":8,"h":9,"n":2,"t":[1,2]})");
  EXPECT_EQ(test::text_of(*make_tree_codec(frame)->encode(with({values, 1}))),
            R"({"flags":0,"n":1,"t":[1]})");
}

/// A layout with all that a round trip can carry.
FrameFacts everything(Body body) {
  std::vector<FieldLayout> fields{at(FieldRole::address, "/dev/eui"),
                                  at(FieldRole::sequence, "/seq"),
                                  at(FieldRole::time, "/at"),
                                  at(FieldRole::age, "/age"),
                                  at(FieldRole::receiver, "/rx/0/id"),
                                  at(FieldRole::rssi, "/rx/0/rssi"),
                                  at(FieldRole::payload, "/data", TextCoding::base64),
                                  at(FieldRole::reading, "/t"),
                                  at(FieldRole::reading, "/state"),
                                  at(FieldRole::reading, "/list"),
                                  at(FieldRole::name, "/dev/name")};
  fields[1].optional = true;
  fields[2].conversion.scale = 0.001;
  fields[7].conversion = {.scale = 0.25, .offset = -40, .then = {}};
  fields[7].missing = 65535;
  fields[8].words = {{0, "shut"}, {1, "open"}};
  fields[8].optional = true;
  fields[9].repeat = fleet::Repeat{3};
  fields[9].optional = true;
  return facts(std::move(fields), body);
}

TEST(TreeCodec, GivesBackWhatItWrote) {
  for (const Body body : {Body::json, Body::cbor}) {
    const FrameFacts frame = everything(body);
    const auto codec = make_tree_codec(frame);
    EXPECT_TRUE(rc::check("decode(encode(report)) is the report", [&] {
      const std::string name = "n" + *rc::gen::container<std::string>(rc::gen::arbitrary<char>());
      const std::string receiver = "r" + std::to_string(*rc::gen::inRange(0, 9));
      const Octets payload = *rc::gen::arbitrary<Octets>();
      std::vector<FieldValue> readings;
      const int raw = *rc::gen::inRange(-20000, 65535);
      if (*rc::gen::arbitrary<bool>()) readings.push_back({7, 0, raw * 0.25 - 40});
      if (*rc::gen::arbitrary<bool>()) {
        readings.push_back({8, 0, static_cast<double>(*rc::gen::inRange(0, 3))});
      }
      for (std::uint16_t i = 0; i < 3; ++i) {
        const double value = *rc::gen::arbitrary<double>();
        if (*rc::gen::arbitrary<bool>()) readings.push_back({9, i, value});
      }
      ReportValues values;
      values.address = Address{*rc::gen::arbitrary<std::uint64_t>(), 16};
      values.node_name = name;
      if (*rc::gen::arbitrary<bool>()) values.sequence = *rc::gen::arbitrary<std::uint64_t>();
      values.time =
          Instant{*rc::gen::inRange<std::int64_t>(-1'000'000'000, 4'000'000'000) * 1'000'000};
      values.age = Duration{*rc::gen::inRange<std::int64_t>(0, 4'000'000'000)};
      values.receiver = receiver;
      values.rssi_dbm = *rc::gen::inRange(-128, 0);
      values.readings = readings;
      values.payload = payload;
      const auto written = codec->encode(values);
      if (!written) {
        // Only a name with control characters, or that is no UTF-8, can't be sent.
        RC_ASSERT(written.error().field == 10u);
        return;
      }
      const Decoded decoded = test::decode(*codec, *written);
      RC_ASSERT(!decoded.error);
      RC_ASSERT(decoded.reports.size() == 1u);
      RC_ASSERT(decoded.reports[0] == test::taken(values));
    }));
  }
}

// Against a plain look-up in the library's own tree.
TEST(TreeCodec, AgreesWithAPlainLookUpInRandomDocuments) {
  FieldLayout optional = at(FieldRole::reading, "/a/b");
  optional.optional = true;
  FieldLayout element = at(FieldRole::reading, "/list/1");
  element.optional = true;
  const FrameFacts frame = facts({optional, element});
  EXPECT_TRUE(rc::check("readings are what the library finds at the pointers", [&] {
    const auto some = [] {
      return *rc::gen::element<json>(1, -2.5, nullptr, "x", true, json::array({3, 4}),
                                     json::object({{"b", 7}}), json::object({{"b", "8"}}));
    };
    json document = json::object();
    for (const char* key : {"a", "b", "list"}) {
      if (*rc::gen::arbitrary<bool>()) document[key] = some();
    }
    Readings expected;
    bool is_bad = false;
    int field_index = 0;
    for (const char* pointer : {"/a/b", "/list/1"}) {
      const json::json_pointer place{pointer};
      const json found = document.contains(place) ? document.at(place) : json{};
      if (found.is_number()) expected.emplace_back(field_index, 0, found.get<double>());
      if (found == "8") expected.emplace_back(field_index, 0, 8);
      is_bad = is_bad || (!found.is_null() && !found.is_number() && found != "8");
      ++field_index;
    }
    const Decoded decoded = decode(frame, document.dump());
    RC_ASSERT(decoded.error.has_value() == is_bad);
    if (!is_bad) RC_ASSERT(decoded.reports.at(0).readings == expected);
  }));
}

}  // namespace
}  // namespace fieldfare::wire
