// SPDX-License-Identifier: Apache-2.0
// Screens of a desk at Tarn Dairy; it, its nodes and all values are invented.
#include "fieldfare/render/desk_screen.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <cstdlib>
#include <ctime>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "fieldfare/base/utf8.h"

namespace fieldfare::render {
namespace {

using nlohmann::json;
using ::testing::AllOf;
using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::Not;
using work::Asking;
using work::DeskRow;
using work::DeskView;
using work::HandState;

/// Seconds after 2026-03-02T06:00:00Z.
Instant at(double s) { return Instant{1'772'431'200LL * 1'000'000'000} + Duration::seconds(s); }

DeskRow heard(const std::string& address, const std::string& digits, const std::string& name) {
  DeskRow row;
  row.key = row.address = address;
  row.digits = digits;
  row.name = name;
  row.reports = 3;
  row.newest = at(748);
  row.interval = Duration::seconds(421);
  row.off_beat = Duration::seconds(0.3);
  row.next_beat = at(1'168);
  row.counter = 17;
  row.step = 1;
  row.rssi_dbm = -61.4;
  row.readings = {{"temperature_c", 21.4}};
  row.verdict.headline = "works";
  row.verdict.works = true;
  return row;
}

DeskRow mute(const std::string& digits) {
  DeskRow row;
  row.key = "label " + digits;
  row.digits = digits;
  row.verdict.headline = "not heard";
  row.verdict.failed = true;
  row.verdict.next = "press its button, and look which way round its cells are";
  return row;
}

class DeskScreen : public ::testing::Test {
 protected:
  DeskScreen() {
    ::setenv("TZ", "UTC", 1);
    ::tzset();
    view_.since = at(0);
    view_.now = at(760);
    view_.rows = {heard("024D210000005CE7", "5CE7", "cave 1"), heard("024D2100000061A0", "", ""),
                  mute("99AB")};
    view_.rows[1].verdict.headline = "too close";
    view_.rows[1].verdict.works = false;
    view_.rows[1].verdict.failed = true;
    view_.rows[1].verdict.next = "put 1 m or more between it and the receiver";
    view_.rows[1].rssi_dbm = -9;
    view_.rows[1].counter = 4;
    view_.rows[1].step.reset();
    view_.sources = {{"r1", "/dev/ttyUSB0", "listening", "", true, 4711, 6, 2}};
    view_.frames = {work::DeskFrames::State::learnt, "hdlc, crc-16/ibm-sdlc, address at 0", ""};
    view_.kept_in = "desk.bytes";
  }

  std::vector<std::string> screen(std::size_t columns, std::size_t rows) const {
    return desk_screen(view_, hand_, {columns, rows}, style_);
  }

  std::string text(std::size_t columns, std::size_t rows) const {
    std::string all;
    for (const std::string& line : screen(columns, rows)) all += line + '\n';
    return all;
  }

  DeskView view_;
  HandState hand_;
  TextStyle style_{80, true, false};
};

TEST_F(DeskScreen, ShowsEveryNodeInALineAndUnderTheChosenOneWhatToDo) {
  hand_.chosen = "024D2100000061A0";
  EXPECT_THAT(
      screen(80, 12),
      ElementsAre("06:12:40  2 nodes, 6 reports since 06:00:00",
                  "r1 /dev/ttyUSB0: listening; 6 frames, 2 unread",
                  "frames learnt: hdlc, crc-16/ibm-sdlc, address at 0",
                  "   label  addr  name    so far     age   beat   off     count  dBm  reading",
                  "   5CE7   5CE7  cave 1  works      12 s  7 min  +0.3 s  17 +1  -61  21.4 °C",
                  ">! -      61A0          too close  12 s  7 min  +0.3 s  4      -9   21.4 °C",
                  "     → put 1 m or more between it and the receiver",
                  " ! 99AB   -             not heard  -", "", "", "",
                  "0-9 find  Enter show  p provoke  n name  v value  s save  ? help  q leave"));
}

TEST_F(DeskScreen, IsReadableInAsciiAlone) {
  style_.unicode = false;
  view_.rows[0].name = "Käsekeller";
  hand_.chosen = "024D2100000061A0";
  for (const std::string& line : screen(80, 12)) {
    for (const char c : line) EXPECT_TRUE(c >= ' ' && c <= '~') << line;
  }
  EXPECT_THAT(text(80, 12), AllOf(HasSubstr("21.4 C"), HasSubstr("-> put 1 m")));
}

TEST_F(DeskScreen, LeavesOutTheDispensableWhereItIsNarrowAndShowsMoreWhereItIsWide) {
  EXPECT_THAT(screen(40, 12), Contains("   5CE7   5CE7  works      12 s  -61"));
  view_.rows[0].readings.push_back({"humidity_pct", 45});
  EXPECT_THAT(text(100, 12), HasSubstr("21.4 °C  45 %"));
}

TEST_F(DeskScreen, MakesAddressTailsAsLongAsTellsNodesApart) {
  view_.rows[1].address = "024D2100007A5CE7";
  EXPECT_THAT(text(80, 12), AllOf(HasSubstr(" 05CE7 "), HasSubstr(" A5CE7 ")));
}

TEST_F(DeskScreen, TellsWhatIsWrongWithASourceAboveTheListWithTheRemedy) {
  view_.sources[0].is_up = false;
  view_.sources[0].state = "the port is gone";
  view_.sources[0].remedy = "plug the receiver in again";
  view_.sources.insert(view_.sources.begin(), {"r2", "udp", "listening", "", true, 0, 0, 0});
  view_.advice = {"r1 (/dev/ttyUSB0): the port is gone; plug the receiver in again"};
  const auto lines = screen(80, 24);
  EXPECT_EQ(lines[1], "r1 /dev/ttyUSB0: the port is gone; 6 frames, 2 unread");
  EXPECT_EQ(lines[2], "   → plug the receiver in again");
  EXPECT_EQ(lines[3], "r2 udp: listening; nothing came yet");
  EXPECT_EQ(text(80, 24).find("plug the receiver in", text(80, 24).find(lines[3])),
            std::string::npos)
      << "once is enough";
}

TEST_F(DeskScreen, TellsBytesThatHoldNoFrame) {
  view_.sources[0].frames = view_.sources[0].unread = 0;
  EXPECT_THAT(text(80, 24), HasSubstr("4,711 bytes, no frame among them"));
}

TEST_F(DeskScreen, SaysWhatToCheckWhileNothingIsHeard) {
  view_.rows.clear();
  view_.advice = {"is its switch on?", "is its antenna on?"};
  EXPECT_THAT(screen(80, 24),
              AllOf(Contains("   - is its switch on?"), Contains("   - is its antenna on?")));
}

TEST_F(DeskScreen, ScrollsALongListAroundTheChosenRowAndTellsTheRest) {
  view_.rows.clear();
  for (int i = 0; i < 30; ++i) {
    view_.rows.push_back(heard("024D21000000" + std::to_string(1000 + i), "", ""));
  }
  EXPECT_THAT(screen(80, 14), Contains("   22 more below"));
  hand_.chosen = "024D210000001015";
  auto lines = screen(80, 14);
  EXPECT_THAT(text(80, 14), HasSubstr(">  -      1015"));
  EXPECT_THAT(lines, Contains("   12 more above"));
  EXPECT_THAT(lines, Contains("   11 more below"));
  hand_.chosen = "024D210000001029";
  EXPECT_THAT(text(80, 14), AllOf(HasSubstr("22 more above"), Not(HasSubstr("below"))));
}

TEST_F(DeskScreen, MarksWhatTypedDigitsFitAndShowsThemBeingTyped) {
  hand_.asking = Asking::find;
  hand_.typed = "5C";
  hand_.found = {view_.rows[0].key, view_.rows[2].key};
  EXPECT_THAT(text(80, 24), AllOf(HasSubstr("*  5CE7"), HasSubstr("*! 99AB"),
                                  HasSubstr("digits: 5C_  fits 2 nodes")));
}

TEST_F(DeskScreen, KeepsTheEndOfALongTextInSight) {
  hand_.asking = Asking::note;
  hand_.chosen = view_.rows[0].key;
  hand_.typed = std::string(150, 'x') + "end";
  EXPECT_THAT(text(40, 24), HasSubstr("xxend_"));
}

TEST_F(DeskScreen, AsksBeforeLeavingAndSaysWhereAllBytesAre) {
  hand_.asking = Asking::leave;
  EXPECT_THAT(text(80, 24), AllOf(HasSubstr("Not saved"), HasSubstr("kept in desk.bytes"),
                                  HasSubstr("s save first")));
}

TEST_F(DeskScreen, ShowsRemindersThatAreDueAndNoOthers) {
  view_.reminders = {{at(700), "5CE7", "its delivery can be met", true},
                     {at(800), "61A0", "too early", false}};
  EXPECT_THAT(text(80, 24), AllOf(HasSubstr("Reminder of 06:11:40: its delivery can be met (5CE7)"),
                                  Not(HasSubstr("too early"))));
}

TEST_F(DeskScreen, ShowsAllThatIsKnownOfOneNode) {
  hand_.chosen = view_.rows[0].key;
  hand_.shows_one = true;
  view_.rows[0].note = "wet wall";
  view_.rows[0].verdict.delivery_at = at(8 * 3600);
  view_.rows[0].verdict.verdicts = {
      {judge::Claim::identity, judge::Outcome::met, "it answered when provoked", {}},
      {judge::Claim::delivery, judge::Outcome::open, "3 of 3 heard", judge::Needs{35, 14'735.0}}};
  EXPECT_THAT(
      screen(80, 24),
      AllOf(Contains("cave 1: works"), Contains("  label      5CE7"),
            Contains("  note       wet wall"),
            Contains("  heard      3 reports, the newest at 06:12:28 (12 s ago)"),
            Contains("  beat       every 7 min 1 s, the newest +0.3 s off, the next at "
                     "06:19:28"),
            Contains("  counter    17, stepped by 1"), Contains("  readings   temperature_c 21.4"),
            Contains("  identity   met: it answered when provoked"),
            Contains("  delivery   open: 3 of 3 heard"),
            Contains(HasSubstr("delivery can be met at 14:00:00 local time"))));
}

TEST_F(DeskScreen, TurnsThePagesOfWhatIsLongerThanTheScreen) {
  hand_.shows_help = true;
  EXPECT_THAT(text(80, 14), AllOf(HasSubstr("0-9 or /"), HasSubstr("below: page up")));
  hand_.page = 40;
  EXPECT_THAT(text(80, 14), AllOf(HasSubstr("kept in desk.bytes"), Not(HasSubstr("0-9 or /"))));
}

TEST_F(DeskScreen, NeverSendsWhatANodeOrAPersonWroteAsControlCharacters) {
  view_.rows[0].name = "\x1b[31mred\x07";
  view_.rows[0].verdict.next = "a\nb";
  view_.rows[1].readings = {
      {"\x9b"
       "1_x",
       1}};
  view_.sources[0].state = "\x1b]0;title";
  hand_.chosen = view_.rows[0].key;
  hand_.answer = "\x1b[2J";
  for (const std::string& line : screen(100, 24)) {
    EXPECT_EQ(line.find_first_of("\x1b\x07\n"), std::string::npos) << line;
    EXPECT_EQ(well_formed_size(line), line.size());
  }
}

TEST_F(DeskScreen, EmphasizesOnlyWhereTheTerminalCan) {
  EXPECT_EQ(text(80, 24).find('\x1b'), std::string::npos);
  style_.emphasis = true;
  EXPECT_THAT(text(80, 24), HasSubstr("\x1b[1;35m ! 99AB"));
}

TEST_F(DeskScreen, IsALineForAReportWhereThereIsNoTerminal) {
  EXPECT_EQ(desk_line(view_.rows[0], view_.now, style_),
            "06:12:28  cave 1, label 5CE7, address 024D210000005CE7  counter 17 +1  -61 dBm  "
            "temperature_c 21.4  works\n");
}

TEST_F(DeskScreen, IsToldWholeAtTheEnd) {
  view_.saved_in = "barn";
  const std::string all = desk_text(view_, style_);
  EXPECT_THAT(all, HasSubstr("3 nodes from 2026-03-02 06:00:00 to 2026-03-02 06:12:40"));
  EXPECT_THAT(all, HasSubstr("cave 1, label 5CE7, address 024D210000005CE7: works"));
  EXPECT_THAT(all, HasSubstr("label 99AB: not heard"));
  EXPECT_THAT(all, HasSubstr("to do       put 1 m or more between it and the receiver"));
  EXPECT_THAT(all, HasSubstr("fieldfare judge barn"));
  EXPECT_THAT(all, HasSubstr("all bytes in desk.bytes"));
}

// --- any view, any size ------------------------------------------------------------

std::string any_text() {
  return *rc::gen::oneOf(
      rc::gen::element<std::string>("", "cave 1 north", "Käsekeller — Nord", "\x1b[31m", "\xff",
                                    "a sentence that is so long that it needs more than one line, "
                                    "wherever it stands, and then some"),
      rc::gen::container<std::string>(rc::gen::arbitrary<char>()));
}

std::uint64_t any_count() { return *rc::gen::inRange<std::uint64_t>(0, 1'000'000'000'000ULL); }

Duration any_span() { return {*rc::gen::arbitrary<std::int64_t>()}; }

DeskRow any_row() {
  DeskRow row;
  row.key = any_text();
  row.digits = *rc::gen::element<std::string>("", "5CE7", "024D210000005CE7");
  row.address = *rc::gen::element<std::string>("", "024D210000005CE7", "024D2100000061A0", "küche");
  row.name = any_text();
  row.note = any_text();
  row.reports = any_count();
  if (*rc::gen::arbitrary<bool>()) row.newest = Instant{any_span().ns};
  if (*rc::gen::arbitrary<bool>()) row.interval = any_span();
  if (*rc::gen::arbitrary<bool>()) row.off_beat = any_span();
  if (*rc::gen::arbitrary<bool>()) row.next_beat = Instant{any_span().ns};
  if (*rc::gen::arbitrary<bool>()) row.counter = any_count();
  if (*rc::gen::arbitrary<bool>()) row.step = any_span().ns;
  if (*rc::gen::arbitrary<bool>()) row.rssi_dbm = *rc::gen::arbitrary<double>();
  row.readings.resize(*rc::gen::inRange<std::size_t>(0, 4));
  for (auto& reading : row.readings) reading = {any_text(), *rc::gen::arbitrary<double>()};
  row.is_awaited = *rc::gen::arbitrary<bool>();
  row.verdict.failed = *rc::gen::arbitrary<bool>();
  row.verdict.headline = any_text();
  row.verdict.next = any_text();
  if (*rc::gen::arbitrary<bool>()) {
    row.verdict.verdicts = {{judge::Claim::margin, judge::Outcome::open, any_text(), {}}};
  }
  return row;
}

DeskView any_view() {
  DeskView view;
  view.now = {any_span().ns};
  view.since = {any_span().ns};
  view.rows.resize(*rc::gen::inRange<std::size_t>(0, 40));
  const DeskRow some = any_row();
  const DeskRow other = any_row();
  for (std::size_t i = 0; i < view.rows.size(); ++i) {
    view.rows[i] = i % 2 == 0 ? some : other;
    view.rows[i].key += std::to_string(i);
  }
  for (std::size_t i = *rc::gen::inRange<std::size_t>(0, 6); i > 0; --i) {
    view.sources.push_back({any_text(), any_text(), any_text(), any_text(),
                            *rc::gen::arbitrary<bool>(), any_count(), any_count(), any_count()});
  }
  view.frames = {work::DeskFrames::State::learning, any_text(), any_text()};
  view.reminders = {{{any_span().ns}, any_text(), any_text(), false}};
  view.advice = {any_text(), any_text()};
  view.saved_in = any_text();
  view.kept_in = any_text();
  return view;
}

HandState any_hand(const DeskView& view) {
  HandState hand;
  hand.asking = static_cast<Asking>(*rc::gen::inRange(0, 7));
  hand.typed = any_text();
  hand.answer = any_text();
  hand.shows_one = *rc::gen::arbitrary<bool>();
  hand.shows_help = *rc::gen::inRange(0, 4) == 0;
  hand.page = *rc::gen::inRange<std::size_t>(0, 9);
  if (!view.rows.empty()) {
    hand.chosen = view.rows[*rc::gen::inRange<std::size_t>(0, view.rows.size())].key;
    hand.found = {view.rows.front().key};
  }
  return hand;
}

std::string without_escapes(std::string line) {
  for (const char* escape : {"\x1b[1;35m", "\x1b[1m", "\x1b[2m", "\x1b[0m"}) {
    for (std::size_t at = line.find(escape); at != std::string::npos; at = line.find(escape)) {
      line.erase(at, std::string_view{escape}.size());
    }
  }
  return line;
}

TEST(AnyDesk, FillsItsScreenAndNoMoreWhateverItShows) {
  EXPECT_TRUE(rc::check([] {
    const DeskView view = any_view();
    const HandState hand = any_hand(view);
    const ScreenSize size{*rc::gen::inRange<std::size_t>(1, 140),
                          *rc::gen::inRange<std::size_t>(1, 50)};
    const TextStyle style{80, *rc::gen::arbitrary<bool>(), *rc::gen::arbitrary<bool>()};
    const auto lines = desk_screen(view, hand, size, style);
    RC_ASSERT(lines.size() == size.rows);
    for (const std::string& line : lines) {
      const std::string bare = without_escapes(line);
      RC_ASSERT(columns(bare) <= size.columns);
      RC_ASSERT(bare.find_first_of("\x1b\n\r\t") == std::string::npos);
      RC_ASSERT(well_formed_size(bare) == bare.size());
    }
  }));
}

TEST(AnyDesk, KeepsTheChosenRowInSightWhereThereIsRoomForIt) {
  EXPECT_TRUE(rc::check([] {
    DeskView view = any_view();
    HandState hand = any_hand(view);
    RC_PRE(!view.rows.empty());
    hand.shows_one = hand.shows_help = false;
    const auto lines =
        desk_screen(view, hand, {*rc::gen::inRange<std::size_t>(40, 140), 24}, {80, true, false});
    RC_ASSERT(std::any_of(lines.begin(), lines.end(),
                          [](const std::string& line) { return line.starts_with(">"); }));
  }));
}

/// What of `value` contradicts `schema`, as far as keys, types and words go.
void expect_follows(const json& value, const json& schema, const std::string& where) {
  if (schema.contains("const")) {
    EXPECT_EQ(value, schema["const"]) << where;
  }
  if (schema.contains("enum")) {
    EXPECT_THAT(schema["enum"], Contains(value)) << where;
  }
  if (value.is_array()) {
    for (const json& each : value) expect_follows(each, schema["items"], where + "[]");
  }
  if (!value.is_object()) return;
  for (const auto& [key, member] : value.items()) {
    ASSERT_TRUE(schema["properties"].contains(key)) << where << "." << key;
    expect_follows(member, schema["properties"][key], where + "." + key);
  }
  for (const json& key : schema["required"]) {
    EXPECT_TRUE(value.contains(key.get<std::string>())) << where << "." << key;
  }
}

TEST_F(DeskScreen, AsJsonFollowsItsSchema) {
  std::ifstream file{FIELDFARE_SOURCE_DIR "/docs/schema/desk.schema.json"};
  const json schema = json::parse(file);
  view_.reminders = {{at(700), "5CE7", "its delivery can be met", true}};
  view_.advice = {"is its switch on?"};
  view_.saved_in = "barn";
  view_.frames.decides = "one more report";
  view_.sources[0].remedy = "plug it in again";
  view_.rows[0].note = "wet wall";
  view_.rows[0].verdict.delivery_at = at(8 * 3600);
  view_.rows[0].verdict.verdicts = {
      {judge::Claim::delivery, judge::Outcome::open, "3 of 3 heard", judge::Needs{35, 14'735.0}}};
  const json document = json::parse(desk_json(view_));
  expect_follows(document, schema, "desk");
  const json& node = document["nodes"][0];
  EXPECT_EQ(node["label"], "5CE7");
  EXPECT_EQ(node["interval_s"], 421);
  EXPECT_EQ(node["off_beat_s"], 0.3);
  EXPECT_EQ(node["step"], 1);
  EXPECT_EQ(node["readings"][0], json({{"name", "temperature_c"}, {"value", 21.4}}));
  EXPECT_EQ(node["delivery_at"], "2026-03-02T14:00:00Z");
  EXPECT_FALSE(document["nodes"][2].contains("address"));
}

TEST(AnyDesk, IsJsonWhateverItHolds) {
  EXPECT_TRUE(rc::check([] {
    const DeskView view = any_view();
    const json document = json::parse(desk_json(view));
    RC_ASSERT(document["schema"] == "fieldfare/desk/1");
    RC_ASSERT(document["nodes"].size() == view.rows.size());
  }));
}

}  // namespace
}  // namespace fieldfare::render
