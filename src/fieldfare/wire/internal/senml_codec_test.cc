// SPDX-License-Identifier: Apache-2.0
// Packs of RFC 8428 were taken from a public copy of its text; all else is invented.
#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <nlohmann/json.hpp>

#include "fieldfare/wire/body_test_support.h"
#include "fieldfare/wire/internal/body_codecs.h"
#include "fieldfare/wire/internal/octet_text.h"
#include "fieldfare/wire/internal/senml_pack.h"

namespace fieldfare::wire {
namespace {

using fleet::AtRecord;
using fleet::Body;
using fleet::FieldLayout;
using fleet::FieldRole;
using fleet::FrameFacts;
using fleet::Octets;
using test::Decoded;
using test::field;
using Readings = std::vector<std::tuple<int, int, double>>;

constexpr std::string_view kNow = R"([{"n":"urn:dev:ow:10e2073a01080063","u":"Cel","v":23.1}])";
constexpr std::string_view kVoltage =
    R"([{"bn":"urn:dev:ow:10e2073a01080063:","n":"voltage","u":"V","v":120.1},
        {"n":"current","u":"A","v":1.2}])";
constexpr std::string_view kCurrents =
    R"([{"bn":"urn:dev:ow:10e2073a0108006:","bt":1.276020076001e+09,"bu":"A","bver":5,
         "n":"voltage","u":"V","v":120.1},
        {"n":"current","t":-5,"v":1.2},{"n":"current","t":-4,"v":1.3},
        {"n":"current","t":-3,"v":1.4},{"n":"current","t":-2,"v":1.5},
        {"n":"current","t":-1,"v":1.6},{"n":"current","v":1.7}])";
constexpr std::string_view kMoving =
    R"([{"bn":"urn:dev:ow:10e2073a01080063","bt":1.320067464e+09,"bu":"%RH","v":20},)"
    R"({"u":"lon","v":24.30621},{"u":"lat","v":60.07965},{"t":60,"v":20.3},)"
    R"({"u":"lon","t":60,"v":24.30622},{"u":"lat","t":60,"v":60.07965},{"t":120,"v":20.7},)"
    R"({"u":"lon","t":120,"v":24.30623},{"u":"lat","t":120,"v":60.07966},)"
    R"({"u":"%EL","t":150,"v":98},{"t":180,"v":21.2},{"u":"lon","t":180,"v":24.30628},)"
    R"({"u":"lat","t":180,"v":60.07967}])";
constexpr std::string_view kTypes =
    R"([{"bn":"urn:dev:ow:10e2073a01080063:","n":"temp","u":"Cel","v":23.1},
        {"n":"label","vs":"Machine Room"},{"n":"open","vb":false},
        {"n":"nfv-reader","vd":"aGkgCg"}])";

std::vector<SenmlRecord> resolved(std::string_view text) {
  auto records = resolve_senml(Tree::parse(text), false);
  return records ? *records : std::vector<SenmlRecord>{};
}
std::optional<BodyFault> fault_of(std::string_view text) {
  const auto records = resolve_senml(Tree::parse(text), false);
  return records ? std::nullopt : std::optional{records.error().fault};
}

FieldLayout at(FieldRole role, std::string record, std::string unit = {}) {
  std::string name = record + "." + unit + std::to_string(static_cast<int>(role));
  return field(std::move(name), role, AtRecord{std::move(record), std::move(unit)});
}
FieldLayout optional(FieldLayout layout) {
  layout.optional = true;
  return layout;
}
FrameFacts facts(std::vector<FieldLayout> fields, Body body = Body::senml_json) {
  FrameFacts frame;
  frame.body = body;
  frame.fields = std::move(fields);
  return frame;
}
Decoded decode(const FrameFacts& frame, std::string_view text) {
  return test::decode(*make_senml_codec(frame), text);
}

// RFC 8428 section 5.1.2, third record and last.
TEST(SenmlPack, AddsTimesToTheBaseTime) {
  const auto records = resolved(kCurrents);
  ASSERT_EQ(records.size(), 7u);
  EXPECT_EQ(records[1].name, "urn:dev:ow:10e2073a0108006:current");
  EXPECT_EQ(records[1].unit, "A");
  EXPECT_EQ(records[1].value, Scalar{1.2});
  EXPECT_NEAR(records[1].time_s, 1276020071.001, 1e-6);
  EXPECT_EQ(records[0].unit, "V");
  EXPECT_NEAR(records[6].time_s, 1276020076.001, 1e-6);
}

// RFC 8428 sections 5.1.3 and 5.1.4: the same pack as sent and resolved.
TEST(SenmlPack, ResolvesTheExampleOfItsRfc) {
  const std::tuple<std::string_view, double, double> expected[] = {
      {"%RH", 1.320067464e+09, 20},       {"lon", 1.320067464e+09, 24.30621},
      {"lat", 1.320067464e+09, 60.07965}, {"%RH", 1.320067524e+09, 20.3},
      {"lon", 1.320067524e+09, 24.30622}, {"lat", 1.320067524e+09, 60.07965},
      {"%RH", 1.320067584e+09, 20.7},     {"lon", 1.320067584e+09, 24.30623},
      {"lat", 1.320067584e+09, 60.07966}, {"%EL", 1.320067614e+09, 98},
      {"%RH", 1.320067644e+09, 21.2},     {"lon", 1.320067644e+09, 24.30628},
      {"lat", 1.320067644e+09, 60.07967}};
  const auto records = resolved(kMoving);
  ASSERT_EQ(records.size(), std::size(expected));
  for (std::size_t i = 0; i < records.size(); ++i) {
    const auto& [unit, time_s, value] = expected[i];
    EXPECT_EQ(records[i].name, "urn:dev:ow:10e2073a01080063");
    EXPECT_EQ(records[i].unit, unit) << i;
    EXPECT_EQ(records[i].time_s, time_s) << i;
    const bool whole = std::holds_alternative<std::uint64_t>(records[i].value);
    EXPECT_EQ(whole ? static_cast<double>(std::get<std::uint64_t>(records[i].value))
                    : std::get<double>(records[i].value),
              value)
        << i;
  }
}

// RFC 8428 section 5.1.5.
TEST(SenmlPack, ReadsAllTypesOfValues) {
  const auto records = resolved(kTypes);
  ASSERT_EQ(records.size(), 4u);
  EXPECT_EQ(records[0].value, Scalar{23.1});
  EXPECT_EQ(records[1].value, Scalar{std::string{"Machine Room"}});
  EXPECT_EQ(records[2].value, Scalar{false});
  EXPECT_EQ(records[3].value, (Scalar{Octets{0x68, 0x69, 0x20, 0x0A}}));
  EXPECT_EQ(records[3].name, "urn:dev:ow:10e2073a01080063:nfv-reader");
}

// RFC 8428 sections 5.1.6 and 5.1.7: a later base name with an earlier base time,
// and a record with nothing but a base name.
TEST(SenmlPack, KeepsEachBaseUntilItIsGivenAgain) {
  const auto collected = resolved(
      R"([{"bn":"2001:db8::2/","bt":1.320078429e+09,"n":"temperature","u":"Cel","v":25.2},
          {"n":"humidity","u":"%RH","v":30},
          {"bn":"2001:db8::1/","n":"temperature","u":"Cel","v":12.3},
          {"n":"humidity","u":"%RH","v":67}])");
  ASSERT_EQ(collected.size(), 4u);
  EXPECT_EQ(collected[3].name, "2001:db8::1/humidity");
  EXPECT_EQ(collected[3].time_s, 1.320078429e+09);
  const auto set = resolved(
      R"([{"bn":"urn:dev:ow:10e2073a01080063:"},{"n":"temp","u":"Cel","v":23.1},
          {"n":"heat","u":"/","v":1},{"n":"fan","u":"/","v":0}])");
  ASSERT_EQ(set.size(), 3u);
  EXPECT_EQ(set[0].name, "urn:dev:ow:10e2073a01080063:temp");
}

// RFC 8428 section 4.5.4.
TEST(SenmlPack, AddsBaseValuesAndSums) {
  const auto records = resolved(R"([{"bn":"a","bv":20,"bs":100,"v":1.5,"s":3},{"n":"b","v":-1},
      {"n":"c","vs":"x"},{"n":"d","s":5},{"n":"e","ut":60,"bs":0}])");
  ASSERT_EQ(records.size(), 5u);
  EXPECT_EQ(records[0].value, Scalar{21.5});
  EXPECT_EQ(records[0].sum, 103);
  EXPECT_EQ(records[1].value, Scalar{19.0});
  EXPECT_EQ(records[1].sum, 100);
  EXPECT_EQ(records[2].value, Scalar{std::string{"x"}});
  EXPECT_EQ(records[3].value, Scalar{20.0});
  EXPECT_EQ(records[3].sum, 105);
  EXPECT_EQ(records[4].update_s, 60);
}

TEST(SenmlPack, KeepsIntegersExactWithoutABaseValue) {
  EXPECT_EQ(resolved(R"([{"n":"a","v":18446744073709551615}])").at(0).value, Scalar{UINT64_MAX});
}

// RFC 8428 sections 4.4 and 12.2: labels that end in `_` must be understood.
TEST(SenmlPack, IgnoresWhatItDoesNotKnowUnlessItMustBeUnderstood) {
  EXPECT_EQ(resolved(R"([{"n":"a","v":1,"x":[1],"_y":2}])").size(), 1u);
  EXPECT_EQ(fault_of(R"([{"n":"a","v":1,"x_":1}])"), BodyFault::bad_syntax);
  EXPECT_EQ(fault_of(R"([{"n":"a","v":1,"bx_":1}])"), BodyFault::bad_syntax);
}

// RFC 8428 section 4.4: no larger version than is known, one for all records.
TEST(SenmlPack, RefusesVersionsThatItDoesNotKnow) {
  EXPECT_EQ(fault_of(R"([{"bver":10,"n":"a","v":1}])"), std::nullopt);
  EXPECT_EQ(fault_of(R"([{"bver":11,"n":"a","v":1}])"), BodyFault::another_kind);
  EXPECT_EQ(fault_of(R"([{"bver":0,"n":"a","v":1}])"), BodyFault::bad_syntax);
  EXPECT_EQ(fault_of(R"([{"bver":5.5,"n":"a","v":1}])"), BodyFault::bad_syntax);
  EXPECT_EQ(fault_of(R"([{"n":"a","v":1},{"bver":5,"n":"b","v":1}])"), BodyFault::bad_syntax);
  EXPECT_EQ(fault_of(R"([{"n":"a","v":1},{"bver":10,"n":"b","v":1}])"), std::nullopt);
}

TEST(SenmlPack, RefusesWhatIsNoPack) {
  for (const std::string_view text :
       {"{}", "[]", "1", "[1]", "[[]]", R"([{"n":"a"}])", R"([{"n":"a","v":1,"vs":"x"}])",
        R"([{"n":"a","v":"1"}])", R"([{"n":"a","v":true}])", R"([{"n":"a","vb":1}])",
        R"([{"n":"a","vs":1}])", R"([{"n":1,"v":1}])", R"([{"bn":1,"n":"a","v":1}])",
        R"([{"n":"a","v":1,"t":"0"}])", R"([{"n":"a","v":1,"u":null}])", R"([{"n":"a","v":null}])",
        R"([{"n":"a","vd":5}])", R"([{"n":"a","v":1,"s":"x"}])"}) {
    EXPECT_EQ(fault_of(text), BodyFault::bad_syntax) << text;
  }
}

// RFC 8428 section 4.5.1.
TEST(SenmlPack, RefusesNamesThatItsRfcDoesNotAllow) {
  for (const std::string name : {"", "-a", "_a", ":a", "a b", "a%", "a,b", "\\u00fc", "a\\n"}) {
    EXPECT_EQ(fault_of("[{\"n\":\"" + name + "\",\"v\":1}]"), BodyFault::bad_value) << name;
  }
  EXPECT_EQ(fault_of(R"([{"v":1}])"), BodyFault::bad_value);
  EXPECT_EQ(fault_of(R"([{"bn":"9","n":"-:./_aZ","v":1}])"), std::nullopt);
  EXPECT_EQ(fault_of("[{\"n\":\"" + std::string(257, 'a') + "\",\"v\":1}]"), BodyFault::bad_value);
}

// RFC 8428 table 4.
TEST(SenmlPack, KnowsTheIntegersOfCbor) {
  const std::pair<const char*, const char*> rows[] = {
      {"bver", "-1"}, {"bn", "-2"}, {"bt", "-3"}, {"bu", "-4"}, {"bv", "-5"},
      {"bs", "-6"},   {"n", "0"},   {"u", "1"},   {"v", "2"},   {"vs", "3"},
      {"vb", "4"},    {"s", "5"},   {"t", "6"},   {"ut", "7"},  {"vd", "8"}};
  for (const auto& [label, integer] : rows) EXPECT_EQ(senml_cbor_label(label), integer);
  EXPECT_EQ(senml_cbor_label("x"), "x");
  const auto records =
      resolve_senml(Tree::parse(R"([{"0":"a","2":5},{"n":"b","v":6,"1":"V"}])"), true);
  ASSERT_TRUE(records);
  EXPECT_EQ(records->at(1).unit, "V");
  EXPECT_FALSE(resolve_senml(Tree::parse(R"([{"0":"a","n":"a","2":5}])"), true));
  EXPECT_TRUE(resolved(R"([{"0":"a","2":5}])").empty()) << "in JSON they are unknown";
}

// RFC 8428 section 6, the dump of the second example of section 5.1.2 in CBOR.
constexpr std::string_view kCurrentsInCbor =
    "87A721781B75726E3A6465763A6F773A3130653230373361303130383030363A"
    "22FB41D303A15B00106223614120050067766F6C74616765016156"
    "02FB405E066666666666A3006763757272656E74062402FB3FF3333333333333"
    "A3006763757272656E74062302FB3FF4CCCCCCCCCCCDA3006763757272656E74"
    "062202FB3FF6666666666666A3006763757272656E74062102F93E00A3006763"
    "757272656E74062002FB3FF999999999999AA3006763757272656E74060002FB"
    "3FFB333333333333";

TEST(SenmlCodec, ReadsTheSameFromJsonAndCbor) {
  const std::vector<FieldLayout> fields{at(FieldRole::name, ""),
                                        optional(at(FieldRole::reading, "voltage")),
                                        at(FieldRole::reading, "current")};
  const FrameFacts cbor = facts(fields, Body::senml_cbor);
  const Decoded from_json = decode(facts(fields), kCurrents);
  const Octets dump = *octets_of_hex(kCurrentsInCbor);
  EXPECT_EQ(dump.size(), 0xC3u);
  const Decoded from_cbor = test::decode(*make_senml_codec(cbor), dump);
  ASSERT_EQ(from_json.reports.size(), 6u);
  EXPECT_EQ(from_cbor.reports, from_json.reports);
  EXPECT_EQ(from_json.reports[0].node_name, "urn:dev:ow:10e2073a0108006");
  EXPECT_EQ(from_json.reports[0].readings, (Readings{{1, 0, 120.1}, {2, 0, 1.7}}));
  EXPECT_EQ(from_json.reports[0].time, parse_rfc3339("2010-06-08T18:01:16.001Z"));
  EXPECT_EQ(from_json.reports[1].time, parse_rfc3339("2010-06-08T18:01:11.001Z"));
  EXPECT_EQ(from_json.reports[1].readings, (Readings{{2, 0, 1.2}}));
}

TEST(SenmlCodec, TakesTheWholeNameForTheNodeWhereTheFieldHasNone) {
  const FrameFacts frame = facts({at(FieldRole::address, ""), at(FieldRole::reading, "")});
  const Decoded decoded = decode(frame, kNow);
  ASSERT_EQ(decoded.reports.size(), 1u);
  EXPECT_EQ(decoded.reports[0].address, (Address{0x10E2073A01080063, 16}));
  EXPECT_EQ(decoded.reports[0].time, std::nullopt);
  EXPECT_EQ(decoded.reports[0].age, std::nullopt);
}

TEST(SenmlCodec, TellsFieldsOfOneNameByTheirUnits) {
  const FrameFacts frame = facts(
      {at(FieldRole::address, ""), optional(at(FieldRole::reading, "", "%RH")),
       optional(at(FieldRole::reading, "", "lat")), optional(at(FieldRole::reading, "", "%EL"))});
  const Decoded decoded = decode(frame, kMoving);
  ASSERT_EQ(decoded.reports.size(), 5u);
  EXPECT_EQ(decoded.reports[0].readings, (Readings{{1, 0, 20}, {2, 0, 60.07965}}));
  EXPECT_EQ(decoded.reports[3].readings, (Readings{{3, 0, 98}}));
  EXPECT_EQ(decoded.reports[3].time, parse_rfc3339("2011-10-31T13:26:54Z"));
  EXPECT_EQ(decoded.reports[4].readings, (Readings{{1, 0, 21.2}, {2, 0, 60.07967}}));
}

TEST(SenmlCodec, ReadsAllTypesIntoTheirRoles) {
  const FrameFacts frame =
      facts({at(FieldRole::reading, "temp"), at(FieldRole::receiver, "label"),
             at(FieldRole::reading, "open"), at(FieldRole::payload, "nfv-reader")});
  const Decoded decoded = decode(frame, kTypes);
  ASSERT_EQ(decoded.reports.size(), 1u);
  EXPECT_EQ(decoded.reports[0].receiver, "Machine Room");
  EXPECT_EQ(decoded.reports[0].readings, (Readings{{0, 0, 23.1}, {2, 0, 0}}));
  EXPECT_EQ(decoded.reports[0].payload, (Octets{0x68, 0x69, 0x20, 0x0A}));
}

TEST(SenmlCodec, TakesNamesApartAtBaseNamesAndSeparatorsAlone) {
  const FrameFacts frame = facts({at(FieldRole::name, ""), at(FieldRole::reading, "temp"),
                                  optional(at(FieldRole::reading, "out/temp")),
                                  optional(at(FieldRole::reading, "_hum"))});
  const auto node = [&](const std::string& record) {
    const Decoded decoded = decode(frame, "[" + record + "]");
    return decoded.reports.empty() ? "none" : decoded.reports[0].node_name;
  };
  EXPECT_EQ(node(R"({"n":"barn/n1/temp","v":1})"), "barn/n1");
  EXPECT_EQ(node(R"({"n":"barn:n1:temp","v":1})"), "barn:n1");
  EXPECT_EQ(node(R"({"bn":"n1","n":"temp","v":1})"), "n1");
  EXPECT_EQ(node(R"({"n":"n1temp","v":1})"), "none");
  EXPECT_EQ(
      node(R"({"bn":"n1/","n":"temp","v":1},{"n":"out/temp","v":2},{"bn":"n1","n":"_hum","v":3})"),
      "n1");
  EXPECT_EQ(decode(frame, R"([{"n":"temp","v":1}])").fault(), BodyFault::missing_field);
}

TEST(SenmlCodec, MakesOneReportOfEachNodeAndTime) {
  const FrameFacts frame = facts({at(FieldRole::address, ""), at(FieldRole::reading, "t"),
                                  optional(at(FieldRole::reading, "h"))});
  const Decoded decoded = decode(frame,
                                 R"([{"bn":"024D21005CE7/","n":"t","t":-10,"v":1},{"n":"t","v":2},
                                     {"bn":"024D21005CE8/","n":"h","v":3},{"n":"t","v":4},
                                     {"bn":"024D21005CE7/","n":"h","t":-10,"v":5},
                                     {"n":"t","v":6},{"n":"x","v":7}])");
  ASSERT_EQ(decoded.reports.size(), 4u);
  EXPECT_EQ(decoded.reports[0].age, (Duration{10'000'000'000}));
  EXPECT_EQ(decoded.reports[0].readings, (Readings{{1, 0, 1}, {2, 0, 5}}));
  EXPECT_EQ(decoded.reports[1].readings, (Readings{{1, 0, 2}}));
  EXPECT_EQ(decoded.reports[2].address, (Address{0x024D21005CE8, 12}));
  EXPECT_EQ(decoded.reports[2].readings, (Readings{{1, 0, 4}, {2, 0, 3}}));
  EXPECT_EQ(decoded.reports[3].address, (Address{0x024D21005CE7, 12}));
  EXPECT_EQ(decoded.reports[3].readings, (Readings{{1, 0, 6}}));
}

TEST(SenmlCodec, RefusesTimesToComeAndNodesWithoutAnAddress) {
  const FrameFacts frame = facts({at(FieldRole::address, ""), at(FieldRole::reading, "t")});
  EXPECT_EQ(decode(frame, R"([{"n":"5CE7/t","t":1,"v":1}])").fault(), BodyFault::bad_value);
  EXPECT_EQ(decode(frame, R"([{"n":"5CE7/t","t":268435455,"v":1}])").fault(), BodyFault::bad_value);
  // 2^28 s is 1978-07-04T21:24:16Z: RFC 8428 section 4.5.3.
  EXPECT_EQ(decode(frame, R"([{"n":"5CE7/t","t":268435456,"v":1}])").reports.at(0).time,
            parse_rfc3339("1978-07-04T21:24:16Z"));
  EXPECT_EQ(decode(frame, R"([{"n":"5CE7/t","t":1e300,"v":1}])").fault(), BodyFault::bad_value);
  EXPECT_EQ(decode(frame, R"([{"n":"loft/t","v":1}])").fault(), BodyFault::bad_value);
  EXPECT_EQ(decode(frame, R"([{"n":"5CE7/x","v":1}])").fault(), BodyFault::missing_field);
}

TEST(SenmlCodec, BoundsTheReportsOfAPack) {
  const FrameFacts frame = facts({at(FieldRole::reading, "t")});
  std::string pack = R"([{"bn":"t","v":1})";
  for (std::size_t i = 1; i < kMostReportsInBody; ++i) pack += R"(,{"v":1})";
  EXPECT_EQ(decode(frame, pack + "]").reports.size(), kMostReportsInBody);
  EXPECT_EQ(decode(frame, pack + R"(,{"v":1}])").fault(), BodyFault::too_many);
}

TEST(SenmlCodec, WritesAPackWithBaseNameAndTime) {
  const FrameFacts frame =
      facts({at(FieldRole::address, ""), at(FieldRole::reading, "temp", "Cel"),
             optional(at(FieldRole::reading, "hum")), at(FieldRole::sequence, "seq")});
  const FieldValue values[] = {{1, 0, 21.5}};
  ReportValues report;
  report.address = Address{0x024D21FFFE005CE7, 16};
  report.sequence = 7;
  report.time = parse_rfc3339("2026-03-02T07:15:00Z");
  report.readings = values;
  EXPECT_EQ(
      test::text_of(*make_senml_codec(frame)->encode(report)),
      R"([{"bn":"urn:dev:mac:024D21FFFE005CE7:","bt":1772435700,"n":"temp","u":"Cel","v":21.5},)"
      R"({"n":"seq","v":7}])");
}

TEST(SenmlCodec, SaysWhatDoesNotFit) {
  const FrameFacts frame = facts({at(FieldRole::name, ""), at(FieldRole::reading, "t")});
  ReportValues values;
  const auto fault = [&] {
    const auto body = make_senml_codec(frame)->encode(values);
    return body ? std::nullopt : std::optional{body.error().fault};
  };
  for (const char* const name : {"n 1", "n1/", "n1:", "-n1"}) {
    values.node_name = name;
    EXPECT_EQ(fault(), BodyFault::does_not_fit) << name;
  }
  values.node_name = "n1";
  EXPECT_EQ(fault(), std::nullopt);
  values.time = Instant{0};
  EXPECT_EQ(fault(), BodyFault::does_not_fit);
  values.time.reset();
  values.age = Duration{-1};
  EXPECT_EQ(fault(), BodyFault::does_not_fit);
}

TEST(SenmlCodec, GivesBackWhatItWrote) {
  for (const Body body : {Body::senml_json, Body::senml_cbor}) {
    FieldLayout scaled = optional(at(FieldRole::reading, "temp", "Cel"));
    // Exact in binary: a pack carries numbers unrounded.
    scaled.conversion = {.scale = 0.25, .offset = -40, .then = {}};
    FieldLayout words = optional(at(FieldRole::reading, "door"));
    words.words = {{0, "shut"}, {1, "open"}};
    const FrameFacts frame =
        facts({at(FieldRole::address, ""), at(FieldRole::sequence, "seq"), scaled, words,
               at(FieldRole::reading, "level"), at(FieldRole::payload, "raw"),
               optional(at(FieldRole::receiver, "rx"))},
              body);
    const auto codec = make_senml_codec(frame);
    EXPECT_TRUE(rc::check("decode(encode(report)) is the report", [&] {
      std::vector<FieldValue> readings;
      if (*rc::gen::arbitrary<bool>()) {
        readings.push_back({2, 0, *rc::gen::inRange(-20000, 65535) * 0.25 - 40});
      }
      if (*rc::gen::arbitrary<bool>()) {
        readings.push_back({3, 0, static_cast<double>(*rc::gen::inRange(0, 3))});
      }
      readings.push_back({4, 0, *rc::gen::arbitrary<double>()});
      const Octets payload = *rc::gen::arbitrary<Octets>();
      ReportValues values;
      values.address = Address{*rc::gen::arbitrary<std::uint64_t>(), 16};
      values.sequence = *rc::gen::arbitrary<std::uint64_t>();
      values.receiver = "loft";
      values.readings = readings;
      values.payload = payload;
      const auto ms = *rc::gen::inRange<std::int64_t>(268'435'456'000, 4'000'000'000'000);
      if (*rc::gen::arbitrary<bool>()) {
        values.time = Instant{ms * 1'000'000};
      } else {
        values.age = Duration{*rc::gen::inRange<std::int64_t>(1, 1'000'000'000'000)};
      }
      const auto written = codec->encode(values);
      RC_ASSERT(written.has_value());
      const Decoded decoded = test::decode(*codec, *written);
      RC_ASSERT(!decoded.error);
      RC_ASSERT(decoded.reports.size() == 1u);
      RC_ASSERT(decoded.reports[0] == test::taken(values));
    }));
  }
}

}  // namespace
}  // namespace fieldfare::wire
