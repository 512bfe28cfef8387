// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/fleet/frame.h"

#include <gtest/gtest.h>

#include <functional>
#include <limits>
#include <string>

// All layouts are invented.
namespace fieldfare::fleet {
namespace {

FieldLayout number_field(std::string name, int octets) {
  FieldLayout field;
  field.name = std::move(name);
  field.place = AtOctet{std::nullopt, NumberForm{NumberKind::unsigned_integer, octets}};
  return field;
}

NumberForm& number_of(FieldLayout& field) {
  return std::get<NumberForm>(std::get<AtOctet>(field.place).form);
}

/// node, seq, flags, count, temperature_c (twice or more), supply_v (if a flag says so).
FrameFacts good_frame() {
  FrameFacts frame;
  frame.framing = Framing::hdlc;
  frame.check = CheckFacts{.crc = "crc-16/ibm-sdlc", .at = -2};
  FieldLayout node;
  node.name = "node";
  node.role = FieldRole::address;
  node.place = AtOctet{0, OctetsForm{8}};
  FieldLayout sequence = number_field("seq", 2);
  sequence.role = FieldRole::sequence;
  FieldLayout flags = number_field("flags", 1);
  flags.role = FieldRole::part;
  FieldLayout count = number_field("count", 1);
  count.role = FieldRole::part;
  number_of(count).bits = BitSpan{0, 3};
  FieldLayout temperature = number_field("temperature_c", 2);
  number_of(temperature).kind = NumberKind::signed_integer;
  temperature.missing = -32'768;
  temperature.repeat = Repeat{"count"};
  FieldLayout supply = number_field("supply_v", 1);
  supply.role = FieldRole::supply;
  supply.conversion.scale = 0.02;
  supply.when = Presence{"flags", 7};
  frame.fields = {node, sequence, flags, count, temperature, supply};
  return frame;
}

/// A frame of text lines: `name=...;t=...`.
FrameFacts text_frame() {
  FrameFacts frame;
  frame.framing = Framing::line;
  frame.body = Body::text;
  frame.separator = ';';
  frame.check = CheckFacts{.kind = CheckKind::exclusive_or,
                           .octets = 1,
                           .as_hex_digits = true,
                           .at = -2,
                           .from = 1,
                           .to = -3};
  FieldLayout name;
  name.name = "name";
  name.role = FieldRole::name;
  name.place = AtColumn{0};
  FieldLayout temperature;
  temperature.name = "temperature_c";
  temperature.place = AtKey{"t"};
  frame.fields = {name, temperature};
  return frame;
}

FrameFacts json_frame() {
  FrameFacts frame;
  frame.body = Body::json;
  frame.each = "/reports";
  FieldLayout temperature;
  temperature.name = "temperature_c";
  temperature.place = AtPointer{"/data/0/t~1c"};
  frame.fields = {temperature};
  return frame;
}

FrameFacts prefixed_frame() {
  FrameFacts frame = good_frame();
  frame.framing = Framing::length_prefixed;
  frame.start = {0xAA, 0x55};
  frame.prefix = LengthPrefix{.at = 2, .octets = 1, .adds = 5};
  frame.fields[0].place = AtOctet{3, OctetsForm{8}};
  return frame;
}

FrameFacts delimited_frame() {
  FrameFacts frame = good_frame();
  frame.framing = Framing::delimited;
  frame.start = {0x02};
  frame.end = {0x03};
  return frame;
}

std::string text_of(const std::vector<FrameFault>& faults) {
  std::string text;
  for (const FrameFault& fault : faults) {
    text += fault.field ? std::to_string(*fault.field) : "frame";
    text += " " + fault.key + ": " + fault.what + "; " + fault.expected + "\n";
  }
  return text;
}

TEST(FaultsOf, FindsNoneInLayoutsOfEveryKind) {
  for (const FrameFacts& frame :
       {good_frame(), text_frame(), json_frame(), prefixed_frame(), delimited_frame()}) {
    EXPECT_EQ(text_of(faults_of(frame)), "");
  }
}

struct Broken {
  const char* what;
  FrameFacts (*good)();
  std::function<void(FrameFacts&)> damage;
  std::optional<std::size_t> field;
  const char* key;
};

// The name that GoogleTest looks for.
// NOLINTNEXTLINE(readability-identifier-naming)
void PrintTo(const Broken& broken, std::ostream* out) { *out << broken.what; }

class FaultsOfBroken : public testing::TestWithParam<Broken> {};

TEST_P(FaultsOfBroken, AreFoundAtTheirKeyWithARemedy) {
  FrameFacts frame = GetParam().good();
  GetParam().damage(frame);
  const std::vector<FrameFault> faults = faults_of(frame);
  ASSERT_EQ(faults.size(), 1u) << GetParam().what << "\n" << text_of(faults);
  EXPECT_EQ(faults[0].field, GetParam().field) << GetParam().what;
  EXPECT_EQ(faults[0].key, GetParam().key) << GetParam().what;
  EXPECT_FALSE(faults[0].what.empty());
  EXPECT_FALSE(faults[0].expected.empty());
}

constexpr auto kFrame = std::nullopt;
constexpr std::size_t kNode = 0, kSeq = 1, kFlags = 2, kCount = 3, kTemperature = 4, kSupply = 5;

const Broken kBrokenFramings[] = {
    {"no bound", good_frame, [](auto& f) { f.most_octets = 0; }, kFrame, "most_bytes"},
    {"bound too high", good_frame, [](auto& f) { f.most_octets = 65'537; }, kFrame, "most_bytes"},
    {"start of hdlc", good_frame, [](auto& f) { f.start = {1}; }, kFrame, "start"},
    {"end of a prefixed frame", prefixed_frame, [](auto& f) { f.end = {1}; }, kFrame, "end"},
    {"length of hdlc", good_frame, [](auto& f) { f.length = 20; }, kFrame, "length"},
    {"prefix of hdlc", good_frame, [](auto& f) { f.prefix.emplace(); }, kFrame, "length"},
    {"long start", delimited_frame, [](auto& f) { f.start.assign(17, 1); }, kFrame, "start"},
    {"nothing delimits", delimited_frame,
     [](auto& f) {
       f.start.clear();
       f.end.clear();
     },
     kFrame, "framing"},
    {"length too short", delimited_frame, [](auto& f) { f.length = 2; }, kFrame, "length"},
    {"length too long", delimited_frame, [](auto& f) { f.length = 2050; }, kFrame, "length"},
    {"nothing but a length", delimited_frame,
     [](auto& f) {
       f.start.clear();
       f.end.clear();
       f.check.reset();
       f.length = 20;
     },
     kFrame, "length"},
    {"prefix missing", prefixed_frame, [](auto& f) { f.prefix.reset(); }, kFrame, "length"},
    {"prefix of no width", prefixed_frame, [](auto& f) { f.prefix->octets = 0; }, kFrame, "length"},
    {"prefix too wide", prefixed_frame, [](auto& f) { f.prefix->octets = 5; }, kFrame, "length"},
    {"prefix in the start", prefixed_frame, [](auto& f) { f.prefix->at = 1; }, kFrame, "length"},
    {"prefix outside", prefixed_frame, [](auto& f) { f.prefix->at = 2048; }, kFrame, "length"},
    {"prefix adds too little", prefixed_frame, [](auto& f) { f.prefix->adds = -253; }, kFrame,
     "length"},
    {"prefix adds too much", prefixed_frame, [](auto& f) { f.prefix->adds = 2049; }, kFrame,
     "length"},
};
INSTANTIATE_TEST_SUITE_P(Framings, FaultsOfBroken, testing::ValuesIn(kBrokenFramings));

const Broken kBrokenTexts[] = {
    {"no sign before decimals", text_frame, [](auto& f) { f.decimal = '\''; }, kFrame, "decimal"},
    {"decimals of JSON", json_frame, [](auto& f) { f.decimal = ','; }, kFrame, "decimal"},
    {"decimals that separate", text_frame, [](auto& f) { f.separator = f.decimal = ','; }, kFrame,
     "decimal"},
    {"nothing to look for", text_frame, [](auto& f) { f.fields[1].place = AfterText{}; },
     std::size_t{1}, "after"},
    {"a separator within a column", text_frame,
     [](auto& f) {
       f.fields[1].place = AfterText{"a;b", TextCoding::plain, 1};
     },
     std::size_t{1}, "after"},
    {"a line's end to look for", text_frame, [](auto& f) { f.fields[1].place = AfterText{"a\n"}; },
     std::size_t{1}, "after"},
    {"a column that can't be", text_frame,
     [](auto& f) {
       f.fields[1].place = AfterText{"a", TextCoding::plain, 1024};
     },
     std::size_t{1}, "column"},
    {"what follows a text, often", text_frame,
     [](auto& f) {
       f.fields[1].place = AfterText{"a"};
       f.fields[1].repeat = Repeat{2};
     },
     std::size_t{1}, "repeat"},
    {"a text in JSON", json_frame, [](auto& f) { f.fields[0].place = AfterText{"a"}; },
     std::size_t{0}, "at"},
    {"a network of nine octets", good_frame,
     [](auto& f) {
       f.fields[kFlags].role = FieldRole::network;
       f.fields[kFlags].place = AtOctet{std::nullopt, OctetsForm{9}};
       f.fields[kSupply].when.reset();
     },
     kFlags, "type"},
    {"a reading named as the network", good_frame,
     [](auto& f) {
       f.fields[kNode].role = FieldRole::network;
       f.fields[kTemperature].name = "network";
     },
     kTemperature, "name"},
};
INSTANTIATE_TEST_SUITE_P(Texts, FaultsOfBroken, testing::ValuesIn(kBrokenTexts));

const Broken kBrokenChecks[] = {
    {"unknown CRC", good_frame, [](auto& f) { f.check->crc = "crc-16/none"; }, kFrame, "check"},
    {"width of another CRC", good_frame, [](auto& f) { f.check->octets = 4; }, kFrame, "check"},
    {"sum of three octets", good_frame,
     [](auto& f) { f.check = CheckFacts{.kind = CheckKind::sum, .octets = 3, .at = -3}; }, kFrame,
     "check"},
    {"exclusive or of two octets", text_frame, [](auto& f) { f.check->octets = 2; }, kFrame,
     "check"},
    {"complement of a CRC", good_frame, [](auto& f) { f.check->complement = Complement::ones; },
     kFrame, "check"},
    {"check past the end", good_frame, [](auto& f) { f.check->at = -1; }, kFrame, "check"},
    {"check past the bound", good_frame, [](auto& f) { f.check->at = 2047; }, kFrame, "check"},
    {"span past the bound", good_frame, [](auto& f) { f.check->to = 2049; }, kFrame, "check"},
    {"nothing checked", good_frame, [](auto& f) { f.check->from = -2; }, kFrame, "check"},
    {"span backwards", good_frame,
     [](auto& f) {
       f.check->from = 4;
       f.check->to = 4;
     },
     kFrame, "check"},
    {"check checks itself", good_frame,
     [](auto& f) {
       f.check->at = 4;
       f.check->to = 10;
     },
     kFrame, "check"},
    {"check amid text", text_frame, [](auto& f) { f.check->at = 0; }, kFrame, "check"},
};
INSTANTIATE_TEST_SUITE_P(Checks, FaultsOfBroken, testing::ValuesIn(kBrokenChecks));

const Broken kBrokenBodies[] = {
    {"list of a binary body", good_frame, [](auto& f) { f.each = "/x"; }, kFrame, "each"},
    {"list without a slash", json_frame, [](auto& f) { f.each = "reports"; }, kFrame, "each"},
    {"exact length of JSON", json_frame, [](auto& f) { f.exact_length = true; }, kFrame,
     "exact_length"},
    {"a digit separates", text_frame, [](auto& f) { f.separator = '1'; }, kFrame, "separator"},
    {"a letter assigns", text_frame, [](auto& f) { f.assignment = 'a'; }, kFrame, "assignment"},
    {"one sign for both", text_frame, [](auto& f) { f.assignment = ';'; }, kFrame, "assignment"},
    {"no fields", good_frame, [](auto& f) { f.fields.clear(); }, kFrame, "field"},
    {"too many fields", good_frame, [](auto& f) { f.fields.resize(257); }, kFrame, "field"},
};
INSTANTIATE_TEST_SUITE_P(Bodies, FaultsOfBroken, testing::ValuesIn(kBrokenBodies));

const Broken kBrokenPlaces[] = {
    {"record in a binary body", good_frame,
     [](auto& f) {
       f.fields[kTemperature].place = AtRecord{"t"};
       f.fields[kTemperature].repeat.reset();
     },
     kTemperature, "at"},
    {"column in JSON", json_frame, [](auto& f) { f.fields[0].place = AtColumn{}; }, 0, "at"},
    {"no such width", good_frame, [](auto& f) { number_of(f.fields[kFlags]).octets = 9; }, kFlags,
     "type"},
    {"real of three octets", good_frame,
     [](auto& f) {
       number_of(f.fields[kTemperature]).kind = NumberKind::real;
       number_of(f.fields[kTemperature]).octets = 3;
     },
     kTemperature, "type"},
    {"bits outside", good_frame,
     [](auto& f) {
       number_of(f.fields[kCount]).bits = BitSpan{4, 8};
     },
     kCount, "bits"},
    {"bits backwards", good_frame,
     [](auto& f) {
       number_of(f.fields[kCount]).bits = BitSpan{4, 3};
     },
     kCount, "bits"},
    {"bits of a decimal", good_frame,
     [](auto& f) { number_of(f.fields[kCount]).kind = NumberKind::bcd; }, kCount, "bits"},
    {"octet out of range", good_frame,
     [](auto& f) { std::get<AtOctet>(f.fields[kFlags].place).at = 2048; }, kFlags, "at"},
    {"no room at the end", good_frame,
     [](auto& f) { std::get<AtOctet>(f.fields[kSeq].place).at = -1; }, kSeq, "at"},
    {"no room for repetitions", good_frame,
     [](auto& f) {
       std::get<AtOctet>(f.fields[kTemperature].place).at = -5;
       f.fields[kTemperature].repeat = Repeat{3};
     },
     kTemperature, "at"},
    {"behind what runs to the end", good_frame,
     [](auto& f) {
       f.fields[kFlags].role = FieldRole::payload;
       f.fields[kFlags].place = AtOctet{std::nullopt, OctetsForm{}};
       f.fields[kSupply].when.reset();
     },
     kCount, "at"},
    {"pointer without a slash", json_frame, [](auto& f) { f.fields[0].place = AtPointer{"t"}; }, 0,
     "pointer"},
    {"pointer with a bare tilde", json_frame, [](auto& f) { f.fields[0].place = AtPointer{"/t~"}; },
     0, "pointer"},
    {"pointer too deep", json_frame,
     [](auto& f) { f.fields[0].place = AtPointer{std::string(33, '/')}; }, 0, "pointer"},
    {"column out of range", text_frame, [](auto& f) { f.fields[0].place = AtColumn{-1}; }, 0,
     "column"},
    {"key with the separator", text_frame, [](auto& f) { f.fields[1].place = AtKey{"a;b"}; }, 1,
     "key"},
    {"no key", text_frame, [](auto& f) { f.fields[1].place = AtKey{}; }, 1, "key"},
};
INSTANTIATE_TEST_SUITE_P(Places, FaultsOfBroken, testing::ValuesIn(kBrokenPlaces));

const Broken kBrokenFields[] = {
    {"no name", good_frame, [](auto& f) { f.fields[kSeq].name.clear(); }, kSeq, "name"},
    {"name twice", good_frame, [](auto& f) { f.fields[kSeq].name = "node"; }, kSeq, "name"},
    {"two sequences", good_frame, [](auto& f) { f.fields[kCount].role = FieldRole::sequence; },
     kCount, "role"},
    {"address too wide", good_frame,
     [](auto& f) {
       f.fields[kNode].place = AtOctet{0, OctetsForm{9}};
     },
     kNode, "type"},
    {"reading of octets", good_frame, [](auto& f) { f.fields[kNode].role = FieldRole::reading; },
     kNode, "type"},
    {"payload as a number", good_frame, [](auto& f) { f.fields[kCount].role = FieldRole::payload; },
     kCount, "type"},
    {"epoch of a reading", good_frame, [](auto& f) { f.fields[kSupply].epoch = Instant{1}; },
     kSupply, "epoch"},
    {"scale zero", good_frame, [](auto& f) { f.fields[kSupply].conversion.scale = 0; }, kSupply,
     "scale"},
    {"offset not a number", good_frame,
     [](auto& f) {
       f.fields[kSupply].conversion.offset = std::numeric_limits<double>::quiet_NaN();
     },
     kSupply, "offset"},
    {"scaled address", good_frame, [](auto& f) { f.fields[kNode].conversion.scale = 2; }, kNode,
     "scale"},
    {"sensor behind a counter", good_frame,
     [](auto& f) { f.fields[kSeq].conversion.then = Pt100Sensor{}; }, kSeq, "sensor"},
    {"flat loop", good_frame,
     [](auto& f) {
       f.fields[kTemperature].conversion.then = LoopSensor{1, 1};
     },
     kTemperature, "loop"},
    {"thermistor of zeros", good_frame,
     [](auto& f) { f.fields[kTemperature].conversion.then = ThermistorSensor{}; }, kTemperature,
     "thermistor"},
    {"empty polynomial", good_frame,
     [](auto& f) { f.fields[kTemperature].conversion.then = Polynomial{}; }, kTemperature,
     "polynomial"},
    {"missing can't be sent", good_frame, [](auto& f) { f.fields[kTemperature].missing = 32'768; },
     kTemperature, "missing"},
    {"constant too short", good_frame, [](auto& f) { f.fields[kSeq].equals = Octets{1}; }, kSeq,
     "equals"},
    {"constant of bits", good_frame, [](auto& f) { f.fields[kCount].equals = Octets{1}; }, kCount,
     "equals"},
    {"word twice", good_frame,
     [](auto& f) {
       f.fields[kFlags].words = {{1, "low"}, {1, "high"}};
     },
     kFlags, "words"},
    {"presence by a later field", good_frame,
     [](auto& f) {
       f.fields[kSeq].when = Presence{"flags", 0};
     },
     kSeq, "when"},
    {"presence by itself", good_frame,
     [](auto& f) {
       f.fields[kFlags].when = Presence{"flags", 0};
     },
     kFlags, "when"},
    {"presence by octets", good_frame, [](auto& f) { f.fields[kSupply].when->field = "node"; },
     kSupply, "when"},
    {"presence by a repeated field", good_frame,
     [](auto& f) { f.fields[kSupply].when->field = "temperature_c"; }, kSupply, "when"},
    {"presence by no bit", good_frame, [](auto& f) { f.fields[kSupply].when->bit = 8; }, kSupply,
     "when"},
    {"presence by a bit that isn't kept", good_frame,
     [](auto& f) {
       f.fields[kSupply].when = Presence{"count", 4};
     },
     kSupply, "when"},
    {"presence by nothing", good_frame, [](auto& f) { f.fields[kSupply].when->bit.reset(); },
     kSupply, "when"},
    {"presence by an impossible value", good_frame,
     [](auto& f) {
       f.fields[kSupply].when = Presence{"flags", std::nullopt, 256};
     },
     kSupply, "when"},
    {"count says no field", good_frame,
     [](auto& f) { f.fields[kTemperature].repeat->count = "number"; }, kTemperature, "repeat"},
    {"too many repetitions", good_frame,
     [](auto& f) { f.fields[kTemperature].repeat->count = 1025; }, kTemperature, "repeat"},
    {"stride backwards", good_frame, [](auto& f) { f.fields[kTemperature].repeat->stride = -1; },
     kTemperature, "repeat"},
    {"repeated counter", good_frame, [](auto& f) { f.fields[kSeq].repeat = Repeat{2}; }, kSeq,
     "repeat"},
    {"needed behind optional", good_frame, [](auto& f) { f.fields[kSeq].optional = true; }, kFlags,
     "optional"},
};
INSTANTIATE_TEST_SUITE_P(Fields, FaultsOfBroken, testing::ValuesIn(kBrokenFields));

TEST(FaultsOf, LetsFieldsOverlapAndChecksStandInFront) {
  FrameFacts frame = good_frame();
  std::get<AtOctet>(frame.fields[kCount].place).at = 10;
  frame.check = CheckFacts{.crc = "crc-16/modbus", .at = 0, .from = 2};
  EXPECT_EQ(text_of(faults_of(frame)), "");
}

TEST(FaultsOf, LetsAnyWidthOfIntegerHoldItsOwnExtremes) {
  for (int octets = 1; octets <= 8; ++octets) {
    FrameFacts frame = good_frame();
    number_of(frame.fields[kTemperature]).octets = octets;
    frame.fields[kTemperature].missing =
        std::numeric_limits<std::int64_t>::min() >> (64 - 8 * octets);
    EXPECT_EQ(text_of(faults_of(frame)), "") << octets;
    frame.fields[kTemperature].missing =
        std::numeric_limits<std::int64_t>::max() >> (64 - 8 * octets);
    EXPECT_EQ(text_of(faults_of(frame)), "") << octets;
  }
}

TEST(SentOctets, DoubleInHexDigits) {
  EXPECT_EQ(sent_octets(CheckFacts{.octets = 2}), 2);
  EXPECT_EQ(sent_octets(CheckFacts{.octets = 2, .as_hex_digits = true}), 4);
}

TEST(OctetsOf, SaysNothingOfWhatRunsToTheEnd) {
  EXPECT_EQ(octets_of(NumberForm{NumberKind::real, 4}), 4);
  EXPECT_EQ(octets_of(OctetsForm{3}), 3);
  EXPECT_EQ(octets_of(OctetsForm{}), std::nullopt);
  EXPECT_EQ(octets_of(TextForm{}), std::nullopt);
}

}  // namespace
}  // namespace fieldfare::fleet
