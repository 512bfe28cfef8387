// SPDX-License-Identifier: Apache-2.0
// A sheet that is written reads back as what it was. All sheets here are invented.
#include "fieldfare/site/sheet_writer.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <sstream>
#include <string>
#include <utility>
#include <vector>

#include "fieldfare/base/crc.h"
#include "fieldfare/base/random.h"
#include "fieldfare/site/load.h"

namespace fieldfare::site {
namespace {

using fleet::Body;
using fleet::ByteOrder;
using fleet::FieldLayout;
using fleet::FieldRole;
using fleet::FrameFacts;
using fleet::Framing;
using fleet::NumberForm;
using fleet::NumberKind;
using fleet::Octets;

std::string errors_of(const std::string& text) {
  const auto loaded = load_site({"", "site.name = \"here\"", {{"x.toml", text}}});
  if (loaded) return "";
  std::string lines;
  for (const Complaint& each : loaded.error()) lines += each.text() + '\n';
  return lines;
}

fleet::NodeSheet read_back(const std::string& text) {
  const auto loaded = load_site({"", "site.name = \"here\"", {{"x.toml", text}}});
  if (!loaded) return {};
  const auto& sheets = loaded->site.node_sheets;
  const auto found = std::find_if(sheets.begin(), sheets.end(),
                                  [](const auto& each) { return each.head.name == "probe"; });
  return found == sheets.end() ? fleet::NodeSheet{} : *found;
}

using Facts = std::tuple<std::string, std::optional<fleet::Range>, std::optional<double>,
                         std::optional<double>, std::optional<double>>;

/// In the order of names: where facts stand in the file doesn't matter.
std::vector<Facts> facts_of(const fleet::NodeSheet& sheet) {
  std::vector<Facts> facts;
  facts.reserve(sheet.fields.size());
  for (const fleet::FieldFacts& each : sheet.fields) {
    facts.emplace_back(each.name, each.plausible, each.resolution, each.accuracy,
                       each.max_rate_per_min);
  }
  std::sort(facts.begin(), facts.end(),
            [](const Facts& a, const Facts& b) { return std::get<0>(a) < std::get<0>(b); });
  return facts;
}

void expect_reads_back(const fleet::NodeSheet& sheet, const SheetComments& comments) {
  const std::string text = sheet_text(sheet, comments);
  ASSERT_EQ(errors_of(text), "") << text;
  const fleet::NodeSheet again = read_back(text);
  EXPECT_EQ(again.head.invented, sheet.head.invented) << text;
  EXPECT_EQ(again.head.source, sheet.head.source) << text;
  EXPECT_EQ(again.frame, sheet.frame) << text;
  EXPECT_EQ(again.sequence.bits, sheet.sequence.bits) << text;
  EXPECT_EQ(again.sequence.starts_at, sheet.sequence.starts_at) << text;
  EXPECT_EQ(again.sequence.restarts_on_reset, sheet.sequence.restarts_on_reset) << text;
  EXPECT_EQ(facts_of(again), facts_of(sheet)) << text;
}

/// Sheets by chance, of every key that the grammar of [frame] has.
class Maker {
 public:
  explicit Maker(std::uint64_t seed) : random_{seed, "sheets"} {}

  fleet::NodeSheet sheet() {
    fleet::NodeSheet made;
    made.head.name = "probe";
    made.head.invented = chance();
    if (chance()) made.head.source = text();
    if (chance()) made.frame = frame();
    // Two facts must agree: a counter in a frame may be as narrow as a single bit.
    if (chance()) made.sequence.bits = made.frame ? 1 : pick({3, 8, 32});
    if (made.sequence.bits && chance()) made.sequence.starts_at = random_.below(2);
    made.sequence.restarts_on_reset = chance();
    if (chance()) made.fields.push_back(facts("humidity_pct"));
    if (made.frame) add_facts_of_readings(made);
    return made;
  }

  SheetComments comments() {
    SheetComments made{text(), text() + '\n' + text(), text(), {}, text()};
    made.fields.assign(random_.below(4), text());
    return made;
  }

 private:
  bool chance() { return random_.bernoulli(0.5); }
  bool rarely() { return random_.bernoulli(0.15); }
  int between(int low, int high) {
    return low + static_cast<int>(random_.below(static_cast<std::uint64_t>(high - low) + 1));
  }
  template <class T>
  T pick(std::initializer_list<T> all) {
    return *(all.begin() + random_.below(all.size()));
  }
  double number() { return pick({0.01, -40.0, 1e-9, 273.15, 3.0, -1e11, 1.0 / 3}); }

  /// What a person might write, and what only a machine would.
  std::string text() {
    return pick<std::string>({"a \"quoted\" back\\slash", "µ°C, wheel = 'true' # [frame]", "7E 01",
                              std::string(200, 'x') + " y", "one", "{ } ]]"});
  }

  Octets octets(int most) {
    Octets made(static_cast<std::size_t>(between(1, most)));
    for (auto& each : made) each = static_cast<std::uint8_t>(random_.below(256));
    return made;
  }

  fleet::FieldFacts facts(const std::string& name) {
    fleet::FieldFacts made;
    made.name = name;
    if (chance()) made.plausible = fleet::Range{-40, 85.5};
    if (chance()) made.resolution = 0.01;
    if (chance()) made.accuracy = 1.0 / 3;
    if (chance()) made.max_rate_per_min = 2;
    return made;
  }

  void add_facts_of_readings(fleet::NodeSheet& made) {
    for (const FieldLayout& each : made.frame->fields) {
      if (each.role == FieldRole::reading && !each.repeat && chance()) {
        made.fields.push_back(facts(each.name));
      }
    }
  }

  fleet::CheckFacts check() {
    fleet::CheckFacts made;
    made.kind =
        pick({fleet::CheckKind::crc, fleet::CheckKind::sum, fleet::CheckKind::exclusive_or});
    made.octets = 1;
    if (made.kind == fleet::CheckKind::crc) {
      const auto models = crc_models();
      const CrcModel& model = models[random_.below(models.size())];
      made.crc = model.name;
      made.octets = static_cast<int>(model.width / 8);
    } else if (made.kind == fleet::CheckKind::sum) {
      made.octets = between(1, 2);
      made.complement =
          pick({fleet::Complement::none, fleet::Complement::ones, fleet::Complement::twos});
    }
    made.order = pick({ByteOrder::little, ByteOrder::big});
    made.as_hex_digits = rarely();
    made.at = -fleet::sent_octets(made);
    if (rarely()) made.at = between(0, 6);
    if (chance()) made.from = between(0, 9);
    if (rarely()) made.to = between(-9, 0);
    return made;
  }

  void add_framing(FrameFacts& made) {
    made.framing = pick({Framing::none, Framing::slip, Framing::hdlc, Framing::cobs,
                         Framing::length_prefixed, Framing::delimited, Framing::line});
    const bool has_prefix = made.framing == Framing::length_prefixed;
    if (has_prefix) {
      made.prefix = fleet::LengthPrefix{between(0, 9), between(1, 4),
                                        pick({ByteOrder::little, ByteOrder::big}), between(-2, 9)};
      if (made.prefix->octets == 1) made.prefix->order = ByteOrder::big;
    }
    if ((has_prefix || made.framing == Framing::delimited) && chance()) made.start = octets(4);
    if (made.framing == Framing::delimited && chance()) made.end = octets(4);
    if (made.framing == Framing::delimited && chance()) made.length = between(9, 40);
  }

  fleet::BinaryForm form(FieldRole role) {
    const bool is_run = role == FieldRole::address || role == FieldRole::payload || rarely();
    if (is_run) {
      fleet::OctetsForm run;
      if (chance()) run = {between(1, 8), pick({ByteOrder::little, ByteOrder::big})};
      return run;
    }
    if (rarely()) {
      return fleet::TextForm{chance() ? std::optional<int>{between(1, 12)} : std::nullopt};
    }
    NumberForm made{pick({NumberKind::unsigned_integer, NumberKind::signed_integer,
                          NumberKind::real, NumberKind::bcd}),
                    between(1, 8),
                    pick({ByteOrder::little, ByteOrder::big}),
                    {}};
    if (made.kind == NumberKind::real) made.octets = pick({2, 4, 8});
    if (made.octets == 1) made.order = ByteOrder::big;
    if (made.kind == NumberKind::unsigned_integer && rarely()) {
      made.bits = fleet::BitSpan{between(0, 3), between(3, 7)};
    }
    return made;
  }

  fleet::TextCoding coding() {
    return pick({fleet::TextCoding::plain, fleet::TextCoding::hex, fleet::TextCoding::base64});
  }

  fleet::FieldPlace place(Body body, FieldRole role) {
    switch (body) {
      case Body::binary:
        return fleet::AtOctet{chance() ? std::optional<int>{between(-20, 30)} : std::nullopt,
                              form(role)};
      case Body::text:
        if (chance()) return fleet::AtColumn{between(0, 9), coding()};
        if (chance()) {
          return fleet::AfterText{pick<std::string>({"RSSI", " \"a\": ", "°"}), coding(),
                                  chance() ? std::optional<int>{between(0, 9)} : std::nullopt};
        }
        return fleet::AtKey{pick<std::string>({"T", "a \"b\"", "°"}), coding()};
      case Body::json:
      case Body::cbor:
        return fleet::AtPointer{pick<std::string>({"", "/a/0", "/a~1b", "/\"\\"}), coding()};
      default:
        return fleet::AtRecord{pick<std::string>({"", "temperature", "a\"b"})};
    }
  }

  fleet::Conversion conversion() {
    fleet::Conversion made;
    if (chance()) made.scale = number();
    if (chance()) made.offset = number();
    switch (between(0, 9)) {
      case 0:
        made.then = fleet::Pt100Sensor{};
        break;
      case 1:
        made.then = fleet::ThermistorSensor{1.1e-3, 2.4e-4, 7.5e-8};
        break;
      case 2:
        made.then = fleet::LoopSensor{number(), 7};
        break;
      case 3:
        made.then = fleet::Polynomial{{number(), 0, number()}};
        break;
      default:
        break;
    }
    return made;
  }

  FieldLayout field(const FrameFacts& frame, std::size_t index) {
    FieldLayout made;
    made.name = "f_" + std::to_string(index) + "_c";
    if (!rarely()) made.role = static_cast<FieldRole>(random_.below(15));
    made.place = place(frame.body, made.role);
    if (made.role == FieldRole::reading) made.conversion = conversion();
    if (rarely()) made.missing = pick<std::int64_t>({0, -1, 127});
    if (rarely()) made.equals = chance() ? octets(8) : Octets{'$', 'A', '"'};
    if (rarely()) made.words = {{1, text()}, {-2, "two"}};
    if (rarely() && index > 0) made.when = presence(frame);
    if (rarely()) made.repeat = repeat(frame);
    made.optional = rarely();
    if (made.role == FieldRole::time && chance()) made.epoch = {946'684'800'250'000'000};
    return made;
  }

  fleet::Presence presence(const FrameFacts& frame) {
    const std::string& name = frame.fields[random_.below(frame.fields.size())].name;
    if (chance()) return {name, between(0, 7), {}};
    return {name, {}, between(0, 9)};
  }

  fleet::Repeat repeat(const FrameFacts& frame) {
    fleet::Repeat made;
    made.count = 3;
    if (chance() && !frame.fields.empty()) made.count = frame.fields.front().name;
    if (chance()) made.stride = between(1, 9);
    return made;
  }

  /// One that is sound; most that chance makes have a field that can't be so.
  FrameFacts frame() {
    FrameFacts made;
    do {
      made = FrameFacts{};
      add_framing(made);
      if (rarely()) made.most_octets = 300;
      made.body = chance() ? Body::binary : static_cast<Body>(random_.below(6));
      if (chance()) made.check = check();
      if (made.body == Body::text) {
        made.separator = pick({',', ' ', '\t', '"', ';'});
        made.assignment = pick({'=', ':', '\\'});
        made.decimal = pick({'.', ','});
      }
      if (made.body == Body::json && chance()) made.each = "/reports";
      made.exact_length = made.body == Body::binary && chance();
      const int fields = between(1, 5);
      for (int i = 0; i < fields; ++i) add_sound_field(made);
    } while (made.fields.empty() || !fleet::faults_of(made).empty());
    return made;
  }

  void add_sound_field(FrameFacts& frame) {
    frame.fields.push_back(field(frame, frame.fields.size()));
    const auto faults = fleet::faults_of(frame);
    if (std::any_of(faults.begin(), faults.end(),
                    [](const fleet::FrameFault& each) { return each.field.has_value(); })) {
      frame.fields.pop_back();
    }
  }

  RandomStream random_;
};

TEST(SheetText, OfAnySheetReadsBackAsWhatItWas) {
  constexpr int kSheets = 1500;
  for (int i = 0; i < kSheets && !testing::Test::HasFailure(); ++i) {
    SCOPED_TRACE("seed " + std::to_string(i));
    Maker maker{static_cast<std::uint64_t>(i)};
    expect_reads_back(maker.sheet(), maker.comments());
  }
}

fleet::NodeSheet probe() {
  fleet::NodeSheet sheet;
  sheet.head.name = "probe";
  sheet.frame.emplace();
  sheet.frame->framing = Framing::hdlc;
  sheet.frame->check = fleet::CheckFacts{.crc = "crc-16/ibm-sdlc", .octets = 2, .at = -2};
  FieldLayout field;
  field.name = "temperature_c";
  field.place = fleet::AtOctet{10, NumberForm{NumberKind::signed_integer, 2, ByteOrder::big, {}}};
  field.conversion.scale = 0.01;
  sheet.frame->fields = {field};
  sheet.fields = {{"temperature_c", fleet::Range{-40, 85}, 0.01, {}, {}}};
  return sheet;
}

// The first example of docs/formats/sheet.md, as far as it goes.
TEST(SheetText, LooksAsPeopleWriteIt) {
  EXPECT_EQ(sheet_text(probe(), {"What it is.", "How frames look.", "", {"Guessed."}, "The end."}),
            R"(# What it is.
[sheet]
name = "probe"
kind = "node"

# How frames look.
[frame]
framing = "hdlc"
check = "crc-16/ibm-sdlc"

# Guessed.
[[frame.field]]
name = "temperature_c"
at = 10
type = "i16be"
scale = 0.01
plausible = [-40, 85]
resolution = 0.01

# The end.
)");
}

TEST(SheetText, BreaksCommentsAtBlanksAndKeepsTheirIndent) {
  std::string words = "  7E 01";
  for (int i = 0; i < 40; ++i) words += " 00";
  const std::string text = sheet_text(probe(), {words + "\n\nnext", "", "", {}, ""});
  std::istringstream lines{text};
  std::string line;
  std::vector<std::string> head;
  while (std::getline(lines, line) && line.starts_with('#')) {
    EXPECT_LE(line.size(), 88u);
    head.push_back(line);
  }
  ASSERT_EQ(head.size(), 4u);
  EXPECT_TRUE(head[0].starts_with("#   7E 01 00"));
  EXPECT_TRUE(head[1].starts_with("#   00 00"));
  EXPECT_EQ(head[2], "#");
  EXPECT_EQ(head[3], "# next");
}

TEST(SheetText, KeepsWhatComesOffTheAirFromLeavingItsComment) {
  SheetComments comments;
  comments.head = "begin\r\x07\xFF\x1B[2J end\n[sheet]";
  expect_reads_back(probe(), comments);
  EXPECT_TRUE(sheet_text(probe(), comments).starts_with("# begin????[2J end\n# [sheet]\n"));
}

}  // namespace
}  // namespace fieldfare::site
