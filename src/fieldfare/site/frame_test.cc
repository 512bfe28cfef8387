// SPDX-License-Identifier: Apache-2.0
// [frame] in sheets: what each key means, and what people are told about mistakes.
#include "fieldfare/fleet/frame.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <limits>
#include <string>
#include <utility>
#include <vector>

#include "fieldfare/site/load.h"

namespace fieldfare::site {
namespace {

using fleet::ByteOrder;
using fleet::CheckFacts;
using fleet::CheckKind;
using fleet::FieldLayout;
using fleet::FieldRole;
using fleet::FrameFacts;
using fleet::Framing;
using fleet::NumberForm;
using fleet::NumberKind;
using fleet::Octets;

using Lines = std::vector<std::string>;

constexpr const char* kNodeHead = "[sheet]\nname = \"x\"\nkind = \"node\"\n";
constexpr const char* kReceiverHead = "[sheet]\nname = \"x\"\nkind = \"receiver\"\n";

Result<LoadedSite, std::vector<Complaint>> load_sheet(const std::string& text) {
  return load_site({"", "site.name = \"here\"", {{"x.toml", text}}});
}

Lines errors_of_sheet(const std::string& text) {
  const auto loaded = load_sheet(text);
  Lines lines;
  if (loaded) return lines;
  for (const Complaint& each : loaded.error()) lines.push_back(each.text());
  return lines;
}

template <class Sheet>
const Sheet& called_x(const std::vector<Sheet>& sheets) {
  return *std::find_if(sheets.begin(), sheets.end(),
                       [](const Sheet& each) { return each.head.name == "x"; });
}

fleet::NodeSheet node_sheet(const std::string& text) {
  const auto loaded = load_sheet(kNodeHead + text);
  if (!loaded) {
    ADD_FAILURE() << loaded.error().front().text();
    return {};
  }
  return called_x(loaded->site.node_sheets);
}

FrameFacts frame_of(const std::string& text) {
  return node_sheet("[frame]\n" + text).frame.value_or(FrameFacts{});
}

/// The one field of a frame: `keys` are those beside its name and, in a binary body, its type.
FieldLayout field_of(const std::string& keys, const std::string& frame_keys = "") {
  const FrameFacts frame = frame_of(frame_keys + "[[frame.field]]\nname = \"a_v\"\n" + keys);
  return frame.fields.size() == 1 ? frame.fields.front() : FieldLayout{};
}

FieldLayout field(const std::string& name, FieldRole role, fleet::FieldPlace place) {
  FieldLayout layout;
  layout.name = name;
  layout.role = role;
  layout.place = std::move(place);
  return layout;
}

FieldLayout binary_field(fleet::BinaryForm form) {
  return field("a_v", FieldRole::reading, fleet::AtOctet{std::nullopt, form});
}

const NumberForm kU8{NumberKind::unsigned_integer, 1, ByteOrder::big, {}};
constexpr const char* kField = "[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"\n";

// --- the frame as a whole --------------------------------------------------------

TEST(Frame, OfTheFormatsFirstExampleIsReadExactly) {
  const auto sheet = node_sheet(R"([frame]
framing = "hdlc"
check = "crc-16/ibm-sdlc"
[[frame.field]]
name = "node"
at = 0
type = "bytes8"
role = "address"
[[frame.field]]
name = "seq"
at = 8
type = "u8"
role = "sequence"
[[frame.field]]
name = "temperature_c"
at = 10
type = "i16be"
scale = 0.01
plausible = [-40, 85]
resolution = 0.01
accuracy = 0.3
max_rate_per_min = 2.0
)");
  FrameFacts expected;
  expected.framing = Framing::hdlc;
  expected.check = CheckFacts{.kind = CheckKind::crc,
                              .crc = "crc-16/ibm-sdlc",
                              .octets = 2,
                              .order = ByteOrder::little,
                              .at = -2};
  expected.fields.resize(3);
  expected.fields[0] = field("node", FieldRole::address, fleet::AtOctet{0, fleet::OctetsForm{8}});
  expected.fields[1] = field("seq", FieldRole::sequence, fleet::AtOctet{8, kU8});
  expected.fields[2] =
      field("temperature_c", FieldRole::reading,
            fleet::AtOctet{10, NumberForm{NumberKind::signed_integer, 2, ByteOrder::big, {}}});
  expected.fields[2].conversion.scale = 0.01;
  EXPECT_EQ(sheet.frame, expected);
  ASSERT_EQ(sheet.fields.size(), 1u);
  EXPECT_EQ(sheet.fields[0].name, "temperature_c");
  EXPECT_EQ(sheet.fields[0].plausible, (fleet::Range{-40, 85}));
  EXPECT_EQ(sheet.fields[0].resolution, 0.01);
  EXPECT_EQ(sheet.fields[0].accuracy, 0.3);
  EXPECT_EQ(sheet.fields[0].max_rate_per_min, 2.0);
}

TEST(Frame, WithoutKeysIsBinaryWithoutFramingAndCheck) {
  FrameFacts expected;
  expected.fields = {binary_field(kU8)};
  EXPECT_EQ(frame_of(kField), expected);
}

TEST(Frame, HasEachFramingByItsName) {
  const std::pair<const char*, Framing> names[] = {{"none", Framing::none},
                                                   {"slip", Framing::slip},
                                                   {"hdlc", Framing::hdlc},
                                                   {"cobs", Framing::cobs},
                                                   {"line", Framing::line}};
  for (const auto& [name, framing] : names) {
    FrameFacts expected;
    expected.framing = framing;
    expected.fields = {binary_field(kU8)};
    EXPECT_EQ(frame_of("framing = \"" + std::string{name} + "\"\n" + kField), expected) << name;
  }
}

TEST(Frame, SaysItsLengthInFront) {
  FrameFacts expected;
  expected.framing = Framing::length_prefixed;
  expected.start = {0x7E, 0x01};
  expected.prefix = fleet::LengthPrefix{2, 2, ByteOrder::big, -3};
  expected.most_octets = 300;
  expected.fields = {binary_field(kU8)};
  EXPECT_EQ(frame_of("framing = \"length-prefixed\"\nstart = \"7E 01\"\nmost_bytes = 300\n"
                     "length = { at = 2, type = \"u16be\", adds = -3 }\n" +
                     std::string{kField}),
            expected);
}

TEST(Frame, HasStartEndAndAFixedLength) {
  FrameFacts expected;
  expected.framing = Framing::delimited;
  expected.start = {'$', 'G', 'P'};
  expected.end = {0x0D, 0x0a};
  expected.length = 12;
  expected.exact_length = true;
  expected.fields = {binary_field(kU8)};
  EXPECT_EQ(frame_of("framing = \"delimited\"\nstart = \"text:$GP\"\nend = \"0D0a\"\nlength = 12\n"
                     "exact_length = true\n" +
                     std::string{kField}),
            expected);
}

CheckFacts check_of(const std::string& check) {
  return frame_of("check = " + check + "\n" + kField).check.value_or(CheckFacts{.octets = 0});
}

TEST(Frame, HasACheckInItsUsualPlaceAndOrder) {
  EXPECT_EQ(
      check_of("\"CRC-16/Modbus\""),
      (CheckFacts{.crc = "crc-16/modbus", .octets = 2, .order = ByteOrder::little, .at = -2}));
  EXPECT_EQ(check_of("\"crc-16/xmodem\""),
            (CheckFacts{.crc = "crc-16/xmodem", .octets = 2, .order = ByteOrder::big, .at = -2}))
      << "not reflected: the high byte first";
  EXPECT_EQ(
      check_of("\"crc-32/iso-hdlc\""),
      (CheckFacts{.crc = "crc-32/iso-hdlc", .octets = 4, .order = ByteOrder::little, .at = -4}));
  EXPECT_EQ(check_of("\"sum-8\""),
            (CheckFacts{.kind = CheckKind::sum, .octets = 1, .order = ByteOrder::big, .at = -1}));
  EXPECT_EQ(check_of("\"sum-16\""),
            (CheckFacts{.kind = CheckKind::sum, .octets = 2, .order = ByteOrder::big, .at = -2}));
  EXPECT_EQ(check_of("\"xor-8\""),
            (CheckFacts{
                .kind = CheckKind::exclusive_or, .octets = 1, .order = ByteOrder::big, .at = -1}));
}

TEST(Frame, HasACheckElsewhere) {
  EXPECT_EQ(check_of(R"({ kind = "sum-16", at = 4, from = 6, to = -1, order = "little", )"
                     R"(complement = "twos" })"),
            (CheckFacts{.kind = CheckKind::sum,
                        .octets = 2,
                        .complement = fleet::Complement::twos,
                        .order = ByteOrder::little,
                        .at = 4,
                        .from = 6,
                        .to = -1}));
  EXPECT_EQ(check_of(R"({ kind = "sum-8", complement = "ones" })").complement,
            fleet::Complement::ones);
  EXPECT_EQ(check_of(R"({ kind = "xor-8", from = 1, to = -3, digits = true })"),
            (CheckFacts{.kind = CheckKind::exclusive_or,
                        .octets = 1,
                        .order = ByteOrder::big,
                        .as_hex_digits = true,
                        .at = -2,
                        .from = 1,
                        .to = -3}));
}

TEST(Frame, CarriesTextWithSeparatorAndAssignment) {
  FrameFacts expected;
  expected.framing = Framing::line;
  expected.body = fleet::Body::text;
  expected.separator = ' ';
  expected.assignment = ':';
  expected.fields.resize(2);
  expected.fields[0] =
      field("node", FieldRole::address, fleet::AtColumn{0, fleet::TextCoding::hex});
  expected.fields[1] =
      field("a_v", FieldRole::reading, fleet::AtKey{"T", fleet::TextCoding::plain});
  EXPECT_EQ(frame_of(R"(framing = "line"
body = "text"
separator = " "
assignment = ":"
[[frame.field]]
name = "node"
role = "address"
column = 0
coding = "hex"
[[frame.field]]
name = "a_v"
key = "T"
)"),
            expected);
}

TEST(Frame, CarriesTextWithNumbersBetweenWordsAndDecimalCommas) {
  FrameFacts expected;
  expected.framing = Framing::line;
  expected.body = fleet::Body::text;
  expected.separator = ';';
  expected.decimal = ',';
  expected.fields.resize(3);
  expected.fields[0] = field("rssi", FieldRole::rssi, fleet::AfterText{"RSSI"});
  expected.fields[1] = field("status", FieldRole::part,
                             fleet::AfterText{"status", fleet::TextCoding::hex, std::nullopt});
  expected.fields[2] =
      field("power_dbm", FieldRole::reading, fleet::AfterText{"/", fleet::TextCoding::plain, 3});
  EXPECT_EQ(frame_of(R"(framing = "line"
body = "text"
separator = ";"
decimal = ","
[[frame.field]]
name = "rssi"
role = "rssi"
after = "RSSI"
[[frame.field]]
name = "status"
role = "part"
after = "status"
coding = "hex"
[[frame.field]]
name = "power_dbm"
column = 3
after = "/"
)"),
            expected);
}

TEST(Frame, CarriesJsonAndCborByPointers) {
  for (const auto& [word, body] :
       {std::pair{"json", fleet::Body::json}, {"cbor", fleet::Body::cbor}}) {
    FrameFacts expected;
    expected.body = body;
    expected.each = "/reports";
    expected.fields.resize(2);
    expected.fields[0] =
        field("inner", FieldRole::payload, fleet::AtPointer{"/data", fleet::TextCoding::base64});
    expected.fields[1] =
        field("level", FieldRole::rssi, fleet::AtPointer{"/radio/0", fleet::TextCoding::plain});
    expected.fields[1].optional = true;
    EXPECT_EQ(frame_of("body = \"" + std::string{word} + R"("
each = "/reports"
[[frame.field]]
name = "inner"
role = "payload"
pointer = "/data"
coding = "base64"
[[frame.field]]
name = "level"
role = "rssi"
pointer = "/radio/0"
optional = true
)"),
              expected);
  }
}

TEST(Frame, CarriesSenmlByRecords) {
  for (const auto& [word, body] : {std::pair{"senml-json", fleet::Body::senml_json},
                                   {"senml-cbor", fleet::Body::senml_cbor}}) {
    FrameFacts expected;
    expected.body = body;
    expected.fields.resize(1);
    expected.fields[0] = field("a_v", FieldRole::reading, fleet::AtRecord{"voltage"});
    EXPECT_EQ(frame_of("body = \"" + std::string{word} +
                       "\"\n[[frame.field]]\nname = \"a_v\"\nrecord = \"voltage\""),
              expected);
  }
}

// --- fields ------------------------------------------------------------------------

TEST(FrameField, HasEveryTypeInItsWidthAndOrder) {
  using Kind = NumberKind;
  const auto big = [](Kind kind, int octets) {
    return NumberForm{kind, octets, ByteOrder::big, {}};
  };
  const auto little = [](Kind kind, int octets) {
    return NumberForm{kind, octets, ByteOrder::little, {}};
  };
  for (int octets = 2; octets <= 8; ++octets) {
    const std::string bits = std::to_string(8 * octets);
    const auto type = [](const std::string& name) { return field_of("type = \"" + name + '"'); };
    EXPECT_EQ(type("u" + bits + "be"), binary_field(big(Kind::unsigned_integer, octets)));
    EXPECT_EQ(type("u" + bits + "le"), binary_field(little(Kind::unsigned_integer, octets)));
    EXPECT_EQ(type("i" + bits + "be"), binary_field(big(Kind::signed_integer, octets)));
    EXPECT_EQ(type("i" + bits + "le"), binary_field(little(Kind::signed_integer, octets)));
    EXPECT_EQ(type("bcd" + std::to_string(octets)), binary_field(big(Kind::bcd, octets)));
    EXPECT_EQ(type("bcd" + std::to_string(octets) + "le"), binary_field(little(Kind::bcd, octets)));
  }
  const std::pair<const char*, fleet::BinaryForm> others[] = {{"u8", kU8},
                                                              {"i8", big(Kind::signed_integer, 1)},
                                                              {"bcd1", big(Kind::bcd, 1)},
                                                              {"f16be", big(Kind::real, 2)},
                                                              {"f32le", little(Kind::real, 4)},
                                                              {"f64be", big(Kind::real, 8)},
                                                              {"text", fleet::TextForm{}},
                                                              {"text12", fleet::TextForm{12}}};
  for (const auto& [name, form] : others) {
    EXPECT_EQ(field_of("type = \"" + std::string{name} + '"'), binary_field(form)) << name;
  }
  const std::pair<const char*, fleet::OctetsForm> runs[] = {
      {"bytes", {}}, {"bytes6", {6}}, {"bytes8le", {8, ByteOrder::little}}};
  for (const auto& [name, form] : runs) {
    FieldLayout expected = binary_field(form);
    expected.role = FieldRole::part;
    EXPECT_EQ(field_of("role = \"part\"\ntype = \"" + std::string{name} + '"'), expected) << name;
  }
}

TEST(FrameField, HasNoOtherTypes) {
  for (const char* type : {"u16", "u8be", "u12be", "u72be", "f24be", "bcd9", "bcd0", "bytes0",
                           "bytes-1", "bytes08", "text4le", "u016be", "U8", "u8 ", "int", ""}) {
    EXPECT_EQ(errors_of_sheet(kNodeHead + ("[frame]\n[[frame.field]]\nname = \"a_v\"\ntype = \"" +
                                           std::string{type} + '"')),
              Lines{"x.toml:7:8: `type` is \"" + std::string{type} +
                    "\"; expected a type such as \"u8\", \"i16be\", \"u24le\", \"f32be\", "
                    "\"bcd2\", \"bytes8\" or \"text\""});
  }
}

TEST(FrameField, HasAPlaceAndBits) {
  FieldLayout expected = binary_field(
      NumberForm{NumberKind::unsigned_integer, 2, ByteOrder::little, fleet::BitSpan{3, 3}});
  std::get<fleet::AtOctet>(expected.place).at = -4;
  EXPECT_EQ(field_of("type = \"u16le\"\nat = -4\nbits = [3, 3]"), expected);
}

TEST(FrameField, HasEveryRole) {
  const std::pair<const char*, FieldRole> roles[] = {
      {"reading", FieldRole::reading},   {"address", FieldRole::address},
      {"name", FieldRole::name},         {"sequence", FieldRole::sequence},
      {"time", FieldRole::time},         {"age", FieldRole::age},
      {"receiver", FieldRole::receiver}, {"rssi", FieldRole::rssi},
      {"snr", FieldRole::snr},           {"lqi", FieldRole::lqi},
      {"noise", FieldRole::noise},       {"supply", FieldRole::supply},
      {"network", FieldRole::network},   {"payload", FieldRole::payload},
      {"part", FieldRole::part}};
  for (const auto& [word, role] : roles) {
    EXPECT_EQ(
        field_of("pointer = \"/x\"\nrole = \"" + std::string{word} + '"', "body = \"json\"\n").role,
        role)
        << word;
  }
}

TEST(FrameField, IsConvertedByScaleOffsetAndSensor) {
  const auto conversion = [](const std::string& keys) {
    return field_of("type = \"u8\"\n" + keys).conversion;
  };
  EXPECT_EQ(conversion("scale = 0.5\noffset = -40"), (fleet::Conversion{0.5, -40, {}}));
  EXPECT_EQ(conversion("polynomial = [1, 2, 3]").then,
            (decltype(fleet::Conversion::then){fleet::Polynomial{{1, 2, 3}}}));
  EXPECT_EQ(conversion("pt100 = true").then,
            (decltype(fleet::Conversion::then){fleet::Pt100Sensor{}}));
  EXPECT_EQ(conversion("pt100 = false"), fleet::Conversion{});
  EXPECT_EQ(conversion("thermistor = { a = 1e-3, b = 2e-4, c = 9e-8 }").then,
            (decltype(fleet::Conversion::then){fleet::ThermistorSensor{1e-3, 2e-4, 9e-8}}));
  EXPECT_EQ(conversion("loop = { low = 4, high = 0 }").then,
            (decltype(fleet::Conversion::then){fleet::LoopSensor{4, 0}}));
}

TEST(FrameField, SaysWhatIsMissingAndWhatWordsMean) {
  FieldLayout expected =
      binary_field(NumberForm{NumberKind::signed_integer, 8, ByteOrder::big, {}});
  expected.missing = std::numeric_limits<std::int64_t>::min();
  expected.words = {{1, "open"}, {0, "closed"}, {-1, "no contact"}};
  EXPECT_EQ(field_of("type = \"i64be\"\nmissing = -9223372036854775808\n"
                     "words = { 1 = \"open\", 0 = \"closed\", -1 = \"no contact\" }"),
            expected);
}

TEST(FrameField, EqualsBytesCharactersOrANumber) {
  const auto constant = [](const std::string& type, const std::string& equals) {
    return field_of("role = \"part\"\ntype = \"" + type + "\"\nequals = " + equals).equals;
  };
  EXPECT_EQ(constant("bytes2", "\"7e 01\""), (Octets{0x7E, 0x01}));
  EXPECT_EQ(constant("text4", "\"text:air\""), (Octets{'a', 'i', 'r'}));
  EXPECT_EQ(constant("u16be", "0x0102"), (Octets{1, 2}));
  EXPECT_EQ(constant("u16le", "0x0102"), (Octets{2, 1}));
  EXPECT_EQ(constant("i16be", "-2"), (Octets{0xFF, 0xFE}));
  EXPECT_EQ(constant("i64le", "-9223372036854775808"), (Octets{0, 0, 0, 0, 0, 0, 0, 0x80}));
  EXPECT_EQ(constant("u64be", "9223372036854775807"),
            (Octets{0x7F, 255, 255, 255, 255, 255, 255, 255}));
  EXPECT_EQ(constant("bcd2", "1234"), (Octets{0x12, 0x34}));
  EXPECT_EQ(field_of("role = \"part\"\npointer = \"/x\"\nequals = 12", "body = \"json\"\n").equals,
            (Octets{'1', '2'}));
}

TEST(FrameField, ComesOftenOrOnlyWhenAnotherSaysSo) {
  const FrameFacts frame = frame_of(R"([[frame.field]]
name = "kind"
type = "u8"
role = "part"
[[frame.field]]
name = "a_v"
type = "u8"
when = { field = "kind", bit = 7 }
repeat = { count = 4, stride = 3 }
[[frame.field]]
name = "b_v"
type = "u8"
when = { field = "kind", equals = 2 }
repeat = { count = "kind" }
optional = true
)");
  ASSERT_EQ(frame.fields.size(), 3u);
  FieldLayout several = binary_field(kU8);
  several.when = fleet::Presence{"kind", 7, {}};
  several.repeat = fleet::Repeat{4, 3};
  EXPECT_EQ(frame.fields[1], several);
  FieldLayout counted = binary_field(kU8);
  counted.name = "b_v";
  counted.when = fleet::Presence{"kind", {}, 2};
  counted.repeat = fleet::Repeat{"kind", 0};
  counted.optional = true;
  EXPECT_EQ(frame.fields[2], counted);
}

TEST(FrameField, CountsTimeFromAnEpoch) {
  // POSIX time of 2000-01-01T00:00:00Z: 946 684 800 s (10957 days of 86 400 s).
  const Instant expected{946'684'800'000'000'000};
  for (const char* epoch : {"2000-01-01", "2000-01-01T00:00:00Z", "\"2000-01-01T01:00:00+01:00\"",
                            "2000-01-01 01:00:00+01:00"}) {
    EXPECT_EQ(field_of("role = \"time\"\ntype = \"u32be\"\nepoch = " + std::string{epoch}).epoch,
              expected)
        << epoch;
  }
}

TEST(FrameField, SaysWhatIsKnownOfEachRepetition) {
  const auto sheet = node_sheet(
      "[field.b_c]\naccuracy = 1\n[frame]\n[[frame.field]]\nname = \"a_c\"\ntype = \"u8\"\n"
      "repeat = { count = 2 }\naccuracy = 0.5");
  ASSERT_EQ(sheet.fields.size(), 3u);
  EXPECT_EQ(sheet.fields[0].name, "b_c");
  EXPECT_EQ(sheet.fields[1].name, "a_1_c");
  EXPECT_EQ(sheet.fields[2].name, "a_2_c");
  EXPECT_EQ(sheet.fields[2].accuracy, 0.5);
}

TEST(Frame, OfAReceiverIsReadToo) {
  const auto loaded = load_sheet(kReceiverHead + std::string{R"([frame]
framing = "slip"
[[frame.field]]
name = "level"
type = "i8"
role = "rssi"
[[frame.field]]
name = "inner"
type = "bytes"
role = "payload"
)"});
  ASSERT_TRUE(loaded.has_value()) << loaded.error().front().text();
  FrameFacts expected;
  expected.framing = Framing::slip;
  expected.fields.resize(2);
  expected.fields[0] =
      field("level", FieldRole::rssi,
            fleet::AtOctet{{}, NumberForm{NumberKind::signed_integer, 1, ByteOrder::big, {}}});
  expected.fields[1] = field("inner", FieldRole::payload, fleet::AtOctet{{}, fleet::OctetsForm{}});
  EXPECT_EQ(called_x(loaded->site.receiver_sheets).frame, expected);
}

// --- mistakes ------------------------------------------------------------------------

struct Row {
  const char* text;  ///< behind [sheet] of three lines
  const char* complaint;
};

class FrameMistake : public testing::TestWithParam<Row> {};

TEST_P(FrameMistake, IsToldWithPlaceAndRemedy) {
  EXPECT_EQ(errors_of_sheet(std::string{kNodeHead} + GetParam().text), Lines{GetParam().complaint});
}

const Row kMistakes[] = {
    {"[frame]\nframing = \"hdcl\"\n[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"",
     "x.toml:5:11: `framing` is \"hdcl\"; did you mean `hdlc`?"},
    {"[frame]\nframing = \"hdlc\"",
     "x.toml:4:1: `field` is missing in [frame]; expected an array of tables, each begun by "
     "`[[frame.field]]`"},
    {"[frame]\nchek = \"sum-8\"\n[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"",
     "x.toml:5:1: unknown key \"chek\" in [frame]; did you mean `check`?"},
    {"[frame]\ncheck = \"crc-16/modbuss\"\n[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"",
     "x.toml:5:9: there is no check \"crc-16/modbuss\"; did you mean `crc-16/modbus`?"},
    {"[frame]\ncheck = { kind = \"sum-9\" }\n[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"",
     "x.toml:5:18: there is no check \"sum-9\"; did you mean `sum-8`?"},
    {"[frame]\ncheck = { kind = \"xor-8\", complement = \"twos\" }\n[[frame.field]]\nname = "
     "\"a_v\"\ntype = \"u8\"",
     "x.toml:5:9: `check`: only sums are sent as complement; expected no complement, or a sum"},
    {"[frame]\ncheck = { king = \"xor-8\", kind = \"xor-8\" }\n[[frame.field]]\nname = "
     "\"a_v\"\ntype = \"u8\"",
     "x.toml:5:11: unknown key \"king\" in check; did you mean `kind`?"},
    {"[frame]\nframing = \"delimited\"\nstart = \"7G\"\n[[frame.field]]\nname = \"a_v\"\ntype = "
     "\"u8\"",
     "x.toml:6:9: `start` is \"7G\"; expected bytes in hex such as \"7E 01\", or characters such "
     "as \"text:$GP\""},
    {"[frame]\nframing = \"length-prefixed\"\n[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"",
     "x.toml:4:1: `length`: nothing tells where the length stands; expected `length = { at = …, "
     "type = … }`, where the frame says it"},
    {"[frame]\nframing = \"length-prefixed\"\nlength = { at = 0, type = \"i8\" }\n"
     "[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"",
     "x.toml:6:27: `type` is \"i8\", which is no type of a length; expected an unsigned integer "
     "of 1 to 4 bytes, such as \"u8\" or \"u16be\""},
    {"[frame]\nbody = \"text\"\nseparator = \";;\"\n[[frame.field]]\nname = \"a_v\"\ncolumn = 1",
     "x.toml:6:13: `separator` is \";;\"; expected one character between quotes"},
    {"[frame]\n[[frame.field]]\nname = \"A_v\"\ntype = \"u8\"",
     "x.toml:6:8: \"A_v\" can't be the name of a reading; expected lower-case letters, digits "
     "and `_`, ending in the unit, and no other column of logs; or a `role`"},
    {"[frame]\n[[frame.field]]\nname = \"seq\"\ntype = \"u8\"",
     "x.toml:6:8: \"seq\" can't be the name of a reading; expected lower-case letters, digits "
     "and `_`, ending in the unit, and no other column of logs; or a `role`"},
    {"[frame]\n[[frame.field]]\nname = \"a-b\"\nrole = \"part\"\ntype = \"u8\"",
     "x.toml:6:8: \"a-b\" can't be the name of a field; expected lower-case letters, digits and "
     "`_`"},
    {"[frame]\n[[frame.field]]\nname = \"a_v\"",
     "x.toml:5:1: nothing says where the field stands, or how it is sent; expected `type`, as "
     "this is a binary body"},
    {"[frame]\nbody = \"json\"\n[[frame.field]]\nname = \"a_v\"\npointer = \"/a\"\ntype = \"u8\"",
     "x.toml:9:8: `type` says nothing in a body of JSON or CBOR; expected `pointer`"},
    {"[frame]\nbody = \"json\"\n[[frame.field]]\nname = \"a_v\"\npointer = \"a\"",
     "x.toml:8:11: `pointer`: a pointer begins with a slash; expected a pointer such as "
     "/temperature or /data/0 (RFC 6901)"},
    {"[frame]\nbody = \"text\"\n[[frame.field]]\nname = \"a_v\"\ncolumn = 1\nkey = \"a\"",
     "x.toml:9:7: `column` is given already; expected `column`, `key` or `after`, only `column` "
     "and "
     "`after` together"},
    {"[frame]\nbody = \"text\"\n[[frame.field]]\nname = \"a_v\"\nkey = \"a\"\nafter = \"b\"",
     "x.toml:9:9: `key` is given already; expected `column`, `key` or `after`, only `column` and "
     "`after` together"},
    {"[frame]\nbody = \"text\"\n[[frame.field]]\nname = \"a_v\"\nafter = \"\"",
     "x.toml:8:9: `after`: no text to look for; expected 1 to 256 characters; none only within a "
     "`column`"},
    {"[frame]\nbody = \"text\"\ndecimal = \",\"\n[[frame.field]]\nname = \"a_v\"\ncolumn = 1",
     "x.toml:6:11: `decimal`: the sign before decimals separates columns or keys, too; expected "
     "two "
     "different signs, such as a blank or a semicolon as `separator`"},
    {"[frame]\ndecimal = \",\"\n[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"",
     "x.toml:5:11: `decimal`: this body has its own way to write numbers; expected body `text`"},
    {"[frame]\n[[frame.field]]\nname = \"pan\"\nrole = \"network\"\ntype = \"f32be\"",
     "x.toml:8:8: `type`: a network has no such number; expected bytes, or an unsigned integer"},
    {"[frame]\n[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"\nbits = [4, 3]",
     "x.toml:8:8: `bits` is [4, 3]; expected [lowest, highest], two bits from 0 to 63"},
    {"[frame]\n[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"\nbits = [4, 8]",
     "x.toml:8:8: `bits`: bits outside the integer; expected lowest and highest bit, within 0 to "
     "7"},
    {"[frame]\n[[frame.field]]\nname = \"a_v\"\ntype = \"text\"\nbits = [4, 8]",
     "x.toml:8:8: `bits` stands at a field that is no number; expected an integer type"},
    {"[frame]\n[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"\nscale = 0",
     "x.toml:8:9: `scale`: no factor; expected a finite number other than 0"},
    {"[frame]\n[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"\npt100 = true\nloop = { low = 0, "
     "high = 1 }",
     "x.toml:9:8: `pt100` is given already; expected one of `polynomial`, `pt100`, `thermistor` "
     "and `loop`"},
    {"[frame]\n[[frame.field]]\nname = \"a\"\nrole = \"sequence\"\ntype = \"u8\"\npt100 = true",
     "x.toml:9:9: `pt100`: no sensor lies behind this role; expected role `reading`"},
    {"[frame]\n[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"\nmissing = 256",
     "x.toml:8:11: `missing`: the type can't hold this value; expected a raw value, before scale "
     "and offset, that the type can hold"},
    {"[frame]\n[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"\nequals = 256",
     "x.toml:8:10: `equals` is 256, which the type \"u8\" can't hold; expected a number that it "
     "can, or bytes in hex such as \"7E 01\""},
    {"[frame]\n[[frame.field]]\nname = \"a_v\"\ntype = \"i8\"\nequals = 128",
     "x.toml:8:10: `equals` is 128, which the type \"i8\" can't hold; expected a number that it "
     "can, or bytes in hex such as \"7E 01\""},
    {"[frame]\n[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"\nwords = { x = \"on\" }",
     "x.toml:8:11: `words` is a table; expected `{ 0 = \"closed\", 1 = \"open\" }`, whole numbers "
     "and what they mean"},
    {"[frame]\n[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"\nwhen = { field = \"b\", bit = 1 }",
     "x.toml:8:8: `when`: no field before is called `b`; expected the name of a field before"},
    {"[frame]\n[[frame.field]]\nname = \"a\"\nrole = \"time\"\ntype = \"u8\"\nepoch = \"then\"",
     "x.toml:9:9: `epoch` is \"then\"; expected a date such as 2000-01-01, or a time such as "
     "\"2000-01-01T00:00:00Z\""},
    {"[frame]\n[[frame.field]]\nname = \"a\"\nrole = \"part\"\ntype = \"u8\"\naccuracy = 1",
     "x.toml:9:12: `accuracy` stands at a field that is no reading; leave it out"},
    {"[field.a_v]\naccuracy = 1\n[frame]\n[[frame.field]]\nname = \"a_v\"\ntype = "
     "\"u8\"\nresolution = 1",
     "x.toml:10:14: what is known of \"a_v\" stands in [field.a_v] already; expected it in one of "
     "the two places"},
    {"[frame]\n[[frame.field]]\nname = \"n\"\nrole = \"part\"\ntype = \"u8\"\n[[frame.field]]\n"
     "name = \"a_v\"\ntype = \"u8\"\nrepeat = { count = \"n\" }\naccuracy = 1",
     "x.toml:13:12: `accuracy` stands at a field that comes a changing number of times; expected "
     "it in [field.a_1_v] and so on"},
    {"[sequence]\nbits = 16\n[frame]\n[[frame.field]]\nname = \"seq\"\nrole = \"sequence\"\ntype "
     "= \"u8\"",
     "x.toml:5:8: `bits` is 16, but \"seq\" in [frame] has 8; expected the width of the counter "
     "that frames carry"},
};
INSTANTIATE_TEST_SUITE_P(Each, FrameMistake, testing::ValuesIn(kMistakes));

TEST(Complaints, OfFactsAboutReadingsInAReceiversFrame) {
  EXPECT_EQ(errors_of_sheet(kReceiverHead +
                            std::string{"[frame]\n[[frame.field]]\nname = \"a_v\"\ntype = "
                                        "\"u8\"\naccuracy = 1"}),
            Lines{"x.toml:8:12: `accuracy` stands in the sheet of a receiver; expected it in the "
                  "sheets of the nodes that measure it"});
}

TEST(Complaints, OfAFrameAreToldTogether) {
  const Lines errors = errors_of_sheet(
      kNodeHead + std::string{"[frame]\n[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"\nscale = 0\n"
                              "[[frame.field]]\nname = \"a_v\"\ntype = \"u8\"\nmissing = 300"});
  ASSERT_EQ(errors.size(), 3u);
  EXPECT_TRUE(errors[0].starts_with("x.toml:8:9: `scale`")) << errors[0];
  EXPECT_TRUE(errors[1].starts_with("x.toml:10:8: `name`")) << errors[1];
  EXPECT_TRUE(errors[2].starts_with("x.toml:12:11: `missing`")) << errors[2];
}

}  // namespace
}  // namespace fieldfare::site
