// SPDX-License-Identifier: Apache-2.0
// All rows are invented.
#include "fieldfare/wire/log_parser.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <algorithm>
#include <functional>
#include <string>
#include <vector>

#include "fieldfare/wire/internal/lines.h"
#include "fieldfare/wire/internal/row_log.h"
#include "fieldfare/wire/test_support.h"

namespace fieldfare::wire {
namespace {

using test::Heard;
using test::Outcome;
using test::read;
using Skipped = std::vector<std::string>;

constexpr std::string_view kHeader = "time,node,receiver,seq,rssi_dbm,temperature_c\n";
constexpr std::string_view kGood = "2026-03-02T07:15:00.25Z,024D210000005CE7,r2,7,-87.5,9.81\n";

std::string csv(std::string_view rows) { return std::string{kHeader} + std::string{rows}; }

TEST(CsvLog, GivesEveryValueOfARow) {
  const Outcome outcome = read(
      "arrived_at,time,seq,node,receiver,snr_db,rssi_dbm,lqi,noise_dbm,supply_v,humidity_pct\n"
      "2026-03-02T07:20:00Z,2026-03-02T08:15:00.25+01:00,18446744073709551615,cave 1,loft,"
      "-3.5,-87.5,255,-101,3.61,83\n");
  ASSERT_EQ(outcome.heard.size(), 1u);
  EXPECT_EQ(outcome.heard[0], (Heard{"2026-03-02T07:15:00.250Z",
                                     "2026-03-02T07:20:00Z",
                                     "cave 1",
                                     "loft",
                                     18446744073709551615u,
                                     -87.5,
                                     -3.5,
                                     255.0,
                                     -101.0,
                                     3.61,
                                     {{"humidity_pct", 83}},
                                     false}));
}

TEST(CsvLog, LeavesAbsentWhatIsNotGiven) {
  const Outcome outcome = read("time,node,seq,rssi_dbm\n2026-03-02T07:15:00Z,5CE7,,\n");
  ASSERT_EQ(outcome.heard.size(), 1u);
  EXPECT_EQ(outcome.heard[0],
            (Heard{"2026-03-02T07:15:00Z", {}, "5CE7", "r1", {}, {}, {}, {}, {}, {}, {}, false}));
}

TEST(CsvLog, TakesEndsOfLinesMarksBlanksAndJoinedFiles) {
  const std::string row = "2026-03-02T07:15:00Z,5CE7";
  for (const std::string& log :
       {"time,node\n" + row + "\n" + row, "time,node\r\n" + row + "\r\n" + row + "\r\n",
        "\xEF\xBB\xBFtime,node\n" + row + "\n" + row + "\n",
        "\n\n  \ntime,node\n\n" + row + "\n\r\n" + row + "\n \n",
        "time,node\n" + row + "\ntime,node\n" + row + "\n",
        "\xEF\xBB\xBFtime,node\r\n" + row + "\r\n\xEF\xBB\xBFtime,node\r\n" + row + "\r\n",
        " time , node \n " + row + " \n" + row + "\t\n",
        "\"time\",\"node\"\n" + row + "\n\"2026-03-02T07:15:00Z\",\"5CE7\"\n"}) {
    const Outcome outcome = read(log);
    EXPECT_FALSE(outcome.fatal) << *outcome.fatal << log;
    EXPECT_EQ(outcome.heard.size(), 2u) << log;
    EXPECT_EQ(outcome.ledger.rows_read(), 2u) << log;
  }
}

struct Refused {
  const char* log;
  const char* complaint;
};
const Refused kRefused[] = {
    {"", "test.log:1: the log is empty"},
    {"\n \n", "test.log:3: the log is empty"},
    {"node,seq\n", "test.log:1: there is no column `time`"},
    {"Time,node\n", "test.log:1: there is no column `time`; `time` where `Time` stands"},
    {"time,seq\n", "test.log:1: there is no column `node`"},
    {"time,node,seq,seq\n", "test.log:1:15: the column `seq` stands twice"},
    {"time,no\"de\n", "test.log:1:8: the header row cannot be read"},
    {"\xFF\xFEt\n", "test.log:1:1: the first line is not text"},
    {"\x1F\x8B\x08\n", "test.log:1:2: the first line is not text"},
};

TEST(CsvLog, IsRefusedAsAWholeWhereNoRowCouldBeRead) {
  for (const Refused& row : kRefused) {
    const Outcome outcome = read(row.log);
    ASSERT_TRUE(outcome.fatal) << row.log;
    EXPECT_TRUE(outcome.fatal->starts_with(row.complaint)) << *outcome.fatal;
    EXPECT_EQ(outcome.ledger.rows_read(), 0u);
  }
}

struct Damaged {
  const char* row;
  const char* reason;
  std::size_t column;  ///< 0: the row as a whole
};
const Damaged kDamagedCsv[] = {
    {"2026-03-02T07:15:00Z,5CE7,r1,7,-87.5", "cell-count", 0},
    {"2026-03-02T07:15:00Z,5CE7,r1,7,-87.5,9,9", "cell-count", 0},
    {"2026-03-02T07:15,5CE7,r1,7,-87.5,9", "bad-time", 1},
    {",5CE7,r1,7,-87.5,9", "no-time", 0},
    {"2026-03-02T07:15:00Z,,r1,7,-87.5,9", "no-node", 0},
    {"1970-01-01T00:00:02Z,5CE7,r1,7,-87.5,9", "clock-not-believed", 1},
    {"2038-01-19T03:14:07Z,5CE7,r1,7,-87.5,9", "clock-not-believed", 1},
    {"2026-03-02T07:15:00Z,5CE7,r1,-7,-87.5,9", "bad-counter", 30},
    {"2026-03-02T07:15:00Z,5CE7,r1,18446744073709551616,-87.5,9", "bad-counter", 30},
    {"2026-03-02T07:15:00Z,5CE7,r1,7,nan,9", "bad-number", 32},
    {"2026-03-02T07:15:00Z,5CE7,r1,7,-87.5,0x9", "bad-number", 38},
    {"2026-03-02T07:15:00Z,5C\"E7,r1,7,-87.5,9", "stray-quote", 24},
    {"2026-03-02T07:15:00Z,\"5CE7\"x,r1,7,-87.5,9", "stray-quote", 27},
    {"2026-03-02T07:15:00Z,5CE7,r1,7,\"-87.5,9", "open-quote", 32},
    {"2026-03-02T07:15:00Z,5C\x07"
     "E7,r1,7,-87.5,9",
     "bad-name", 22},
    {"2026-03-02T07:15:00Z,5CE7,r1,7,-87.5,9\xC3", "not-utf8", 39},
    {"2026-03-02T07:15:00Z,\"K\xC3\xA4se\xFF\",r1,7,-87.5,9", "not-utf8", 28},
};

TEST(CsvLog, SkipsADamagedRowAloneAndSaysWhereAndWhy) {
  for (const Damaged& damaged : kDamagedCsv) {
    const Outcome outcome = read(csv(std::string{kGood} + damaged.row + "\n" + std::string{kGood}));
    EXPECT_EQ(outcome.heard.size(), 2u) << damaged.row;
    EXPECT_EQ(outcome.skipped(), Skipped{std::string{"3 "} + damaged.reason}) << damaged.row;
    ASSERT_FALSE(outcome.ledger.quoted().empty());
    EXPECT_EQ(outcome.ledger.quoted()[0].place.column, damaged.column) << damaged.row;
    EXPECT_EQ(outcome.nodes_known, 1u) << damaged.row;
  }
}

TEST(CsvLog, SkipsRowsWithZeroBytesAndRowsWithoutEnd) {
  std::string zero = csv(kGood);
  zero[zero.size() - 4] = '\0';
  EXPECT_EQ(read(zero).skipped(), Skipped{"2 zero-byte"});

  const std::string longest(kLongestRow, 'x');
  const Outcome outcome =
      read(csv(longest + "x\n" + std::string{kGood} + longest + "\n" + std::string{kGood}));
  EXPECT_EQ(outcome.skipped(), (Skipped{"2 too-long", "4 cell-count"}));
  EXPECT_EQ(outcome.heard.size(), 2u);
}

TEST(CsvLog, AQuoteThatDoesNotCloseLosesItsLineAlone) {
  std::string rows = "2026-03-02T07:15:00Z,\"5CE7,r1,7,-87.5,9\n";
  while (rows.size() < 3 * kLongestRow) rows += kGood;
  const Outcome outcome = read(csv(rows));
  EXPECT_EQ(outcome.skipped(), Skipped{"2 open-quote"});
  EXPECT_EQ(outcome.heard.size() + 1,
            static_cast<std::size_t>(std::count(rows.begin(), rows.end(), '\n')));
}

TEST(CsvLog, TwoQuotesThatCloseEachOtherLoseTheirLinesAlone) {
  const std::string open = "2026-03-02T07:15:00Z,\"5CE7,r1,7,-87.5,9\n";
  const std::string close = "2026-03-02T07:15:00Z,5CE7\",r1,7,-87.5,9\n";
  const Outcome outcome = read(csv(open + std::string{kGood} + std::string{kGood} + close));
  EXPECT_EQ(outcome.heard.size(), 2u);
  EXPECT_EQ(outcome.skipped(), (Skipped{"2 open-quote", "5 stray-quote"}));
}

TEST(CsvLog, ACellMayHoldLinesAndTheNextRowsKeepTheirNumbers) {
  const Outcome outcome = read(
      "time,node,remark\n2026-03-02T07:15:00Z,5CE7,\"two\r\n\"\"lines\"\"\"\nbad,5CE7,\n"
      "bad,5CE7,\"two\nlines\"\n2026-03-02T07:15:00Z,5CE7,x\nbad,5CE7,\n");
  EXPECT_EQ(outcome.heard.size(), 2u);
  EXPECT_EQ(outcome.skipped(), (Skipped{"4 bad-time", "5 bad-time", "8 bad-time"}));
}

TEST(Log, TellsOnceWhatItLeavesOutOrDoubts) {
  const Outcome outcome = read(
      "time,node,rsi_dbm,remark,site_name,depth_m\n2026-03-02T07:15:00Z,5CE7,-87,x,north,2\n"
      "2026-03-02T07:16:00Z,5CE7,-87,x,4,2\n");
  ASSERT_EQ(outcome.notes.size(), 3u);
  EXPECT_EQ(outcome.notes[0],
            "test.log:1: `rsi_dbm` is taken as a reading; `rssi_dbm`, if that was meant");
  EXPECT_TRUE(outcome.notes[1].starts_with("test.log:1: `remark` is left out"));
  EXPECT_TRUE(outcome.notes[2].starts_with("test.log:1: `site_name` ends in no unit"));
  ASSERT_EQ(outcome.heard.size(), 2u);
  using Readings = std::vector<std::pair<std::string, double>>;
  EXPECT_EQ(outcome.heard[0].readings, (Readings{{"rsi_dbm", -87}, {"depth_m", 2}}));
  EXPECT_EQ(outcome.heard[1].readings,
            (Readings{{"rsi_dbm", -87}, {"site_name", 4}, {"depth_m", 2}}));
}

struct Plausibility {
  const char* column;
  const char* value;
  bool implausible;
};
// 655.35 and 165 V stand in real logs where a sensor is missing and where a frame
// is corrupt; 4.47 V is a lithium cell that was not loaded yet.
const Plausibility kPlausibility[] = {
    {"humidity_pct", "655.35", true},
    {"humidity_pct", "99.99", false},
    {"humidity_pct", "-5", false},
    {"supply_v", "165", true},
    {"supply_v", "4.47", false},
    {"supply_v", "-0.1", true},
    {"mains_v", "230", false},
    {"temperature_c", "-273.16", true},
    {"temperature_c", "-40", false},
    {"wheel_temperature_c", "3000", true},
    {"rssi_dbm", "-119", false},
    {"rssi_dbm", "300", true},
    {"lqi", "255", false},
    {"lqi", "256", true},
    {"level_m", "-1e9", false},
};

TEST(Log, MarksHearingsWithValuesThatCannotBe) {
  for (const Plausibility& row : kPlausibility) {
    const Outcome outcome = read(std::string{"time,node,"} + row.column +
                                 "\n2026-03-02T07:15:00Z,5CE7," + row.value + "\n");
    ASSERT_EQ(outcome.heard.size(), 1u) << row.column;
    EXPECT_EQ(outcome.heard[0].implausible, row.implausible) << row.column << row.value;
  }
}

constexpr std::string_view kGoodJson =
    R"({"time":"2026-03-02T07:15:00.25Z","node":"5CE7","seq":7,"rssi_dbm":-87.5,"temperature_c":9.81})"
    "\n";

TEST(JsonLinesLog, GivesTheSameAsCsv) {
  const Outcome outcome = read(
      "\xEF\xBB\xBF"
      R"({"seq":18446744073709551615, "time":"2026-03-02T08:15:00.25+01:00","node":"cave 1",)"
      R"("receiver":"loft","arrived_at":"2026-03-02T07:20:00Z","snr_db":-3.5,"rssi_dbm":-87.5,)"
      R"("lqi":255,"noise_dbm":-101,"supply_v":3.61,"humidity_pct":83,"remark":"x","ok":true})"
      "\r\n\n"
      R"({"time":"2026-03-02T07:15:00Z","node":"5CE7","seq":null,"rssi_dbm":null,"receiver":""})");
  ASSERT_EQ(outcome.heard.size(), 2u);
  EXPECT_EQ(outcome.heard[0], (Heard{"2026-03-02T07:15:00.250Z",
                                     "2026-03-02T07:20:00Z",
                                     "cave 1",
                                     "loft",
                                     18446744073709551615u,
                                     -87.5,
                                     -3.5,
                                     255.0,
                                     -101.0,
                                     3.61,
                                     {{"humidity_pct", 83}},
                                     false}));
  EXPECT_EQ(outcome.heard[1],
            (Heard{"2026-03-02T07:15:00Z", {}, "5CE7", "r1", {}, {}, {}, {}, {}, {}, {}, false}));
  EXPECT_EQ(outcome.notes.size(), 2u);
}

const Damaged kDamagedJson[] = {
    {R"({"time":"2026-03-02T07:15:00Z","node":"5CE7","seq":7)", "not-json", 53},
    {R"({"time":"2026-03-02T07:15:00Z","node":"5CE7,"seq":7})", "not-json", 46},
    {R"(["2026-03-02T07:15:00Z","5CE7"])", "no-object", 1},
    {R"({"time":"2026-03-02T07:15:00Z","node":"5CE7","seq":[7]})", "nested-value", 52},
    {R"({"time":"2026-03-02T07:15:00Z","node":"5CE7","seq":"7"})", "wrong-type", 52},
    {R"({"time":1772435700,"node":"5CE7"})", "wrong-type", 9},
    {R"({"time":"2026-03-02T07:15:00Z","node":"5CE7","depth_m":true})", "wrong-type", 56},
    {R"({"time":"2026-03-02T07:15:00Z","node":"5CE7","seq":7.0})", "bad-counter", 52},
    {R"({"time":"2026-03-02T07:15:00Z","node":"5CE7","seq":1,"seq":2})", "repeated-key", 54},
    {R"({"time":"2026-03-02T07:15:00Z","seq":1})", "no-node", 0},
    {R"({"node":"5CE7","seq":1})", "no-time", 0},
    {R"({"time":"yesterday","node":"5CE7"})", "bad-time", 9},
    {R"({"time":"1980-01-06T00:00:00Z","node":"5CE7"})", "clock-not-believed", 9},
    {R"({"time":"2026-03-02T07:15:00Z","node":"5CE7","rssi_dbm":1e400})", "bad-number", 57},
    {R"({"time":"2026-03-02T07:15:00Z","node":"5C\u0007E7"})", "bad-name", 0},
    {"{\"time\":\"2026-03-02T07:15:00Z\",\"node\":\"\xFF\"}", "not-utf8", 40},
    {R"({"time":"2026-03-02T07:15:00Z","node":"5CE7"} {})", "not-json", 47},
};

TEST(JsonLinesLog, SkipsADamagedRowAloneAndSaysWhereAndWhy) {
  for (const Damaged& damaged : kDamagedJson) {
    const Outcome outcome =
        read(std::string{kGoodJson} + damaged.row + "\n" + std::string{kGoodJson});
    EXPECT_EQ(outcome.heard.size(), 2u) << damaged.row;
    EXPECT_EQ(outcome.skipped(), Skipped{std::string{"2 "} + damaged.reason}) << damaged.row;
    ASSERT_FALSE(outcome.ledger.quoted().empty());
    EXPECT_EQ(outcome.ledger.quoted()[0].place.column, damaged.column) << damaged.row;
    EXPECT_EQ(outcome.nodes_known, 1u) << damaged.row;
  }
}

TEST(Log, TellsWhatWasWrongInWords) {
  const Outcome outcome = read(csv("2026-03-02T07:15:00Z,5CE7,r1,7,loud\x1B,9\n"));
  ASSERT_EQ(outcome.ledger.quoted().size(), 1u);
  EXPECT_EQ(
      outcome.ledger.quoted()[0].complaint().text(),
      "test.log:2:32: `rssi_dbm` is `loud\\x1B`: no number; a finite decimal number, or nothing");
  EXPECT_EQ(outcome.ledger.quoted()[0].excerpt, "2026-03-02T07:15:00Z,5CE7,r1,7,loud\\x1B,9");
}

// Found by fuzzing on 2026-11-25: the name of the blamed key was a view into a
// temporary, which showed only in names too long for a small string.
TEST(JsonLinesLog, NamesTheKeyOfANameThatCannotBeTaken) {
  const Outcome outcome = read(R"({"time":"2026-03-02T07:15:00Z","node":"a","receiver":"b\u0007"})"
                               "\n");
  ASSERT_EQ(outcome.ledger.quoted().size(), 1u);
  EXPECT_TRUE(outcome.ledger.quoted()[0].what.starts_with("`receiver` is "));
}

// ---- Any split of the bytes gives the same rows. ----

void expect_same(const Outcome& whole, const Outcome& pieces) {
  RC_ASSERT(pieces.heard == whole.heard);
  RC_ASSERT(pieces.skipped() == whole.skipped());
  RC_ASSERT(pieces.ledger.rows_read() == whole.ledger.rows_read());
  RC_ASSERT(pieces.ledger.rows_accepted() == pieces.heard.size());
  RC_ASSERT(pieces.fatal == whole.fatal);
  RC_ASSERT(pieces.notes == whole.notes);
}

/// A log of rows, good and bad, in any order; good ones are frequent.
std::string some_log(std::string_view header, const std::vector<std::string>& rows) {
  const auto picks =
      *rc::gen::container<std::vector<std::size_t>>(rc::gen::inRange<std::size_t>(0, rows.size()));
  std::string log{header};
  for (const std::size_t pick : picks) log += rows[pick];
  return log;
}

std::vector<std::size_t> some_cuts(std::size_t size) {
  auto cuts =
      *rc::gen::container<std::vector<std::size_t>>(rc::gen::inRange<std::size_t>(0, size + 1));
  std::sort(cuts.begin(), cuts.end());
  return cuts;
}

TEST(CsvLog, AnySplitOfTheBytesGivesTheSameRows) {
  const std::vector<std::string> rows = {std::string{kGood},
                                         std::string{kGood},
                                         "\r\n",
                                         std::string{kHeader},
                                         "2026-03-02T07:15:00Z,\"5CE7\",r1,7,\"-87.5\",9\r\n",
                                         "2026-03-02T07:15:00Z,\"5C\nE7\",r1,7,-87.5,9\n",
                                         "2026-03-02T07:15:00Z,5CE7,r1,7,\"-8\n",
                                         "2026-03-02T07:15:00Z,\"5CE7,r1,7,-87.5,9\n",
                                         "2026-03-02T07:15:00Z,5CE7\",r1,7,1,9\n",
                                         "\"\"\"\n",
                                         "\"\n",
                                         ",,,,,\n",
                                         "K\xC3\xA4se\n",
                                         "\xC3\n",
                                         std::string("\0\n", 2),
                                         "\r",
                                         "\""};
  EXPECT_TRUE(rc::check([&] {
    std::string log = some_log(kHeader, rows);
    if (*rc::gen::inRange(0, 4) == 0) log.insert(0, kByteOrderMark);
    expect_same(read(log), test::read_in_pieces(log, some_cuts(log.size())));
  }));
}

TEST(CsvLog, AnySplitAroundTheBoundGivesTheSameRows) {
  EXPECT_TRUE(rc::check([] {
    std::string log{kHeader};
    for (int i = 0; i < 2; ++i) {
      const auto around = *rc::gen::inRange<std::size_t>(kLongestRow - 3, kLongestRow + 4);
      log += *rc::gen::element<std::string>("", "\"", "2026-03-02T07:15:00Z,\"");
      log += std::string(around, *rc::gen::element('x', '\n', '"'));
      log += *rc::gen::element<std::string>("\n", "\r\n", "\"\n", "");
      log += kGood;
    }
    expect_same(read(log), test::read_in_pieces(log, some_cuts(log.size())));
  }));
}

TEST(JsonLinesLog, AnySplitOfTheBytesGivesTheSameRows) {
  const std::vector<std::string> rows = {
      std::string{kGoodJson},
      std::string{kGoodJson},
      "\r\n",
      "{}\n",
      "{\"time\":1}\n",
      "[1]\n",
      "{\"time\":\"2026-03-02T07:15:00Z\",\"node\":\"\\u00e9\"}\r\n",
      "{\"node\":\"",
      "\"\n",
      "\xC3"};
  EXPECT_TRUE(rc::check([&] {
    const std::string log = some_log(kGoodJson, rows);
    expect_same(read(log), test::read_in_pieces(log, some_cuts(log.size())));
  }));
}

TEST(Log, FedByteByByteGivesTheSameRows) {
  const std::string log = "\xEF\xBB\xBF" + csv(std::string{kGood} + "\"\n" + std::string{kGood});
  std::vector<std::size_t> cuts(log.size());
  for (std::size_t i = 0; i < cuts.size(); ++i) cuts[i] = i;
  EXPECT_EQ(test::read_in_pieces(log, cuts).heard, read(log).heard);
  EXPECT_EQ(read(log).heard.size(), 2u);
}

// ---- A log with every 100th row damaged loses exactly those rows. ----

using Damage = std::function<void(std::string&)>;

void expect_every_hundredth_lost(const std::string& header, const std::string& row,
                                 const Damage& damage, const char* name) {
  constexpr std::size_t kRows = 1000;
  const std::size_t header_lines = header.empty() ? 0 : 1;
  std::string log = header;
  std::vector<std::size_t> lost;
  for (std::size_t i = 1; i <= kRows; ++i) {
    std::string line = row;
    if (i % 100 == 0) {
      damage(line);
      lost.push_back(i + header_lines);
    }
    log += line + "\n";
  }
  const Outcome outcome = read(log);
  std::vector<std::size_t> told;
  for (const SkippedRow& skipped : outcome.ledger.quoted()) told.push_back(skipped.place.line);
  EXPECT_EQ(told, lost) << name;
  EXPECT_EQ(outcome.heard.size(), kRows - lost.size()) << name;
  EXPECT_EQ(outcome.nodes_known, 1u) << name;
}

const std::vector<std::pair<const char*, Damage>> kDamages = {
    {"cut after the time", [](std::string& row) { row.resize(row.find('Z') + 1); }},
    {"cut in the time", [](std::string& row) { row.resize(row.find('Z') - 5); }},
    {"first half lost", [](std::string& row) { row.erase(0, row.size() / 2); }},
    {"quote put at the front", [](std::string& row) { row.insert(0, "\""); }},
    {"quote put into the node", [](std::string& row) { row.insert(row.find("5CE7") + 2, "\""); }},
    {"quote put before the node", [](std::string& row) { row.insert(row.find("5CE7"), "\""); }},
    {"zero bytes", [](std::string& row) { row.replace(10, 4, 4, '\0'); }},
    {"garbage bytes", [](std::string& row) { row.replace(12, 6, "\x80\xFF\x1B\"\\,"); }},
    {"bytes that are no UTF-8",
     [](std::string& row) { row.insert(row.find("5CE7"), "\xED\xA0\x80"); }},
    {"another month", [](std::string& row) { row.replace(row.find("-03-"), 4, "-13-"); }},
    {"a clock never set", [](std::string& row) { row.replace(row.find("2026"), 4, "1970"); }},
    {"a number that is none", [](std::string& row) { row.replace(row.find("-87.5"), 5, "-8x.5"); }},
    {"a cell too many", [](std::string& row) { row.insert(row.find("-87.5"), "1,"); }},
    {"far too long", [](std::string& row) { row.append(3 * kLongestRow, 'x'); }},
};

TEST(CsvLog, LosesEveryHundredthRowAndNoOther) {
  std::string row{kGood};
  row.pop_back();
  for (const auto& [name, damage] : kDamages) {
    expect_every_hundredth_lost(std::string{kHeader}, row, damage, name);
  }
}

TEST(JsonLinesLog, LosesEveryHundredthRowAndNoOther) {
  std::string row{kGoodJson};
  row.pop_back();
  for (const auto& [name, damage] : kDamages) {
    expect_every_hundredth_lost("", row, damage, name);
  }
}

}  // namespace
}  // namespace fieldfare::wire
