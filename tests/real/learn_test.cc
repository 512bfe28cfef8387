// SPDX-License-Identifier: Apache-2.0
//
// What open data sets recorded as text, learnt from the raw lines alone and read by
// what was learnt. Compared with the logs that the scripts beside the sets made of the
// same files; those scripts know the columns, this program is told nothing.
#include "fieldfare/learn/learn.h"

#include <lzma.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <fstream>
#include <iterator>
#include <map>
#include <stdexcept>

#include "data.h"
#include "fieldfare/site/load.h"
#include "fieldfare/site/sheet_writer.h"
#include "fieldfare/wire/body_codec.h"
#include "fieldfare/wire/stream_decoder.h"

namespace fieldfare::real {
namespace {

using fleet::FieldRole;
using learn::Learnt;
using learn::Sureness;

/// A file as it was published; `.xz` unpacked, by liblzma and nothing of the program.
std::string raw(const std::string& set, const std::string& file) {
  std::ifstream in{data_folder().value() / set / file, std::ios::binary};
  if (!in) throw std::runtime_error("cannot be opened: " + file);
  std::string octets{std::istreambuf_iterator<char>{in}, {}};
  if (!file.ends_with(".xz")) return octets;
  std::string text;
  std::uint64_t most_memory = UINT64_MAX;
  std::size_t from = 0;
  for (std::size_t room = 64 << 20;; room *= 2) {
    text.resize(room);
    std::size_t to = from = 0;
    const lzma_ret done = lzma_stream_buffer_decode(
        &most_memory, 0, nullptr, reinterpret_cast<const std::uint8_t*>(octets.data()), &from,
        octets.size(), reinterpret_cast<std::uint8_t*>(text.data()), &to, text.size());
    if (done == LZMA_BUF_ERROR) continue;
    if (done != LZMA_OK) throw std::runtime_error("can't be unpacked: " + file);
    text.resize(to);
    return text;
  }
}

std::string first_lines(const std::string& text, std::size_t count) {
  std::size_t end = 0;
  for (; count > 0 && end != std::string::npos; --count) end = text.find('\n', end + 1);
  return text.substr(0, end == std::string::npos ? end : end + 1);
}

/// The frame of a sheet as the site's loader has it from the file that is written of it.
std::optional<fleet::FrameFacts> written_and_loaded(const Learnt& learnt) {
  fleet::NodeSheet sheet;
  sheet.head.name = "learnt";
  sheet.frame = learnt.frame;
  const auto loaded =
      site::load_site({"", "site.name = \"here\"", {{"learnt.toml", site::sheet_text(sheet, {})}}});
  if (!loaded) return std::nullopt;
  for (const fleet::NodeSheet& each : loaded->site.node_sheets) {
    if (each.head.name == "learnt") return each.frame;
  }
  return std::nullopt;
}

Learnt learnt_from(const std::string& text, std::size_t lines = 3000) {
  const std::string beginning = first_lines(text, lines);
  learn::Sample sample;
  sample.arrivals.push_back({{}, {beginning.begin(), beginning.end()}, false, {}});
  Learnt learnt = learn::learn(sample);
  EXPECT_EQ(written_and_loaded(learnt), learnt.frame) << "a sheet must say all that was learnt";
  return learnt;
}

const fleet::FieldLayout* field_of(const Learnt& learnt, FieldRole role) {
  if (!learnt.frame) return nullptr;
  const auto& fields = learnt.frame->fields;
  const auto found = std::find_if(fields.begin(), fields.end(),
                                  [&](const auto& each) { return each.role == role; });
  return found == fields.end() ? nullptr : &*found;
}

bool has_reading(const Learnt& learnt, const std::string& name) {
  return learnt.frame && std::any_of(learnt.frame->fields.begin(), learnt.frame->fields.end(),
                                     [&](const auto& each) { return each.name == name; });
}

/// The column that a field stands in; -1 for other places.
int column_of(const fleet::FieldLayout* field) {
  if (field == nullptr) return -1;
  if (const auto* const column = std::get_if<fleet::AtColumn>(&field->place)) return column->column;
  const auto* const after = std::get_if<fleet::AfterText>(&field->place);
  return after != nullptr && after->column ? *after->column : -1;
}

std::string text_before(const fleet::FieldLayout* field) {
  const auto* const after =
      field == nullptr ? nullptr : std::get_if<fleet::AfterText>(&field->place);
  return after == nullptr ? "" : after->text;
}

Sureness sureness_of(const Learnt& learnt, const std::string& part) {
  for (const learn::Finding& each : learnt.findings) {
    if (each.part == part) return each.sureness;
  }
  return Sureness::open;
}

/// A hearing, or a row of a log, as values by column name.
using Row = std::map<std::string, double>;
struct Heard {
  std::string node;
  std::string receiver;
  Row values;
};

/// Keeps what a decoder hands on, by the names that logs have.
class Collector : public wire::HearingStream {
 public:
  explicit Collector(const fleet::Labels& labels) : labels_{labels} {}

  void hearing(const fleet::Hearing& hearing, std::optional<std::uint32_t> /*tag*/) override {
    Heard& row = heard.emplace_back();
    row.node = labels_.label(hearing.node).name;
    row.receiver = labels_.receiver_name(hearing.receiver);
    if (hearing.sequence) row.values["seq"] = static_cast<double>(*hearing.sequence);
    if (hearing.rssi_dbm) row.values["rssi_dbm"] = *hearing.rssi_dbm;
    if (hearing.snr_db) row.values["snr_db"] = *hearing.snr_db;
    if (hearing.supply_v) row.values["supply_v"] = *hearing.supply_v;
    const std::int64_t time_ms = hearing.time.ns / 1'000'000;
    row.values["time"] = static_cast<double>(time_ms);
    for (const fleet::Reading& reading : hearing.readings) {
      row.values[std::string{labels_.field_name(reading.field)}] = reading.value;
    }
  }
  void unread(const wire::Unread& /*unread*/) override {}

  std::vector<Heard> heard;

 private:
  const fleet::Labels& labels_;
};

/// All of the text, read by what was learnt from its beginning.
std::vector<Heard> read_all(const Learnt& learnt, const std::string& text) {
  fleet::Labels labels;
  wire::DecoderOptions options;
  options.known = {{"learnt", &*learnt.frame, 0}};
  wire::StreamDecoder decoder{options, labels};
  Collector out{labels};
  const Instant later{2'000'000'000LL * 1'000'000'000};  // 2033: behind every time in the sets
  decoder.feed({reinterpret_cast<const std::uint8_t*>(text.data()), text.size()}, later, out);
  decoder.finish(later, out);
  return std::move(out.heard);
}

/// Rows of a log that a script made.
std::vector<Heard> log_rows(const std::string& set, const std::string& file) {
  const LogLines log = read_log(log_path(set, file));
  const auto names = fields_of(log.header);
  std::vector<Heard> rows;
  for (const std::string& line : log.rows) {
    const auto fields = fields_of(line);
    Heard& row = rows.emplace_back();
    for (std::size_t i = 0; i < fields.size(); ++i) {
      if (names[i] == "node") {
        row.node = fields[i];
      } else if (names[i] == "receiver") {
        row.receiver = fields[i];
      } else if (names[i] == "time") {
        const auto time = parse_rfc3339(fields[i]);
        const std::int64_t time_ms = time ? time->ns / 1'000'000 : 0;
        if (time) row.values["time"] = static_cast<double>(time_ms);
      } else if (!fields[i].empty()) {
        row.values[names[i]] = std::stod(fields[i]);
      }
    }
  }
  return rows;
}

/// The scripts write short decimal names as four hex digits.
std::string as_logs_have_it(const std::string& name) {
  const std::size_t digits = name.find_first_of("0123456789");
  std::array<char, 16> text{};
  std::snprintf(text.data(), text.size(), "%04x", std::stoi(name.substr(digits)));
  return text.data();
}

/// Rows as texts of the node and some columns, sorted: `from` names a column in the
/// learnt readings, `to` the same in the log.
struct Columns {
  std::string from;
  std::string to;
  double factor = 1;  ///< of numbers whose unit nobody could tell
};

std::vector<std::string> texts(const std::vector<Heard>& rows, const std::vector<Columns>& columns,
                               bool is_log) {
  std::vector<std::string> made;
  for (const Heard& row : rows) {
    std::string text = is_log ? row.node : as_logs_have_it(row.node);
    for (const Columns& column : columns) {
      const auto found = row.values.find(is_log ? column.to : column.from);
      text += ' ';
      if (found == row.values.end()) continue;
      const double value = found->second * (is_log ? 1 : column.factor);
      text += std::to_string(std::llround(value * 1000));
    }
    made.push_back(std::move(text));
  }
  std::sort(made.begin(), made.end());
  return made;
}

void expect_same(const std::vector<Heard>& heard, const std::vector<Heard>& log,
                 const std::vector<Columns>& columns) {
  ASSERT_EQ(heard.size(), log.size());
  const auto ours = texts(heard, columns, false);
  const auto theirs = texts(log, columns, true);
  std::size_t different = 0;
  for (std::size_t i = 0; i < ours.size(); ++i) {
    if (ours[i] == theirs[i]) continue;
    if (different++ < 3) ADD_FAILURE() << "read: " << ours[i] << ", in the log: " << theirs[i];
  }
  EXPECT_EQ(different, 0U);
}

std::vector<Columns> same(std::initializer_list<const char*> names) {
  std::vector<Columns> columns;
  for (const char* const name : names) columns.push_back({name, name, 1});
  return columns;
}

class RealTexts : public RealLogs {};

const char* const kYard = "hast-lora-yard";

TEST_F(RealTexts, ConsoleLinesOfTheYardAreReadAsTheirLogHasThem) {
  const std::string text = raw(kYard, "backyard_rx_2020-09a.txt.xz");
  const Learnt learnt = learnt_from(text);
  ASSERT_TRUE(learnt.frame);
  EXPECT_EQ(text_before(field_of(learnt, FieldRole::name)), "node");
  EXPECT_EQ(text_before(field_of(learnt, FieldRole::sequence)), "message");
  EXPECT_EQ(text_before(field_of(learnt, FieldRole::rssi)), "RSSI");
  EXPECT_EQ(text_before(field_of(learnt, FieldRole::snr)), "SNR");
  EXPECT_EQ(field_of(learnt, FieldRole::time), nullptr) << "two clocks, months apart";
  EXPECT_EQ(sureness_of(learnt, "counter"), Sureness::certain);
  expect_same(read_all(learnt, text), log_rows(kYard, "backyard_2020-09a.csv.gz"),
              same({"seq", "rssi_dbm", "snr_db", "supply_v", "temperature_c", "humidity_pct",
                    "tx_time_ms"}));
}

TEST_F(RealTexts, ConsoleLinesWithoutABlankBeforeTheLevelAreReadToo) {
  const std::string text = raw(kYard, "bench_three_nodes_collisions_1.txt.xz");
  const Learnt learnt = learnt_from(text);
  ASSERT_TRUE(learnt.frame);
  expect_same(read_all(learnt, text), log_rows(kYard, "bench_1_synthetic_time.csv.gz"),
              same({"seq", "rssi_dbm", "snr_db", "supply_v", "tx_time_ms"}));
}

TEST_F(RealTexts, LinesOfTwoVariantsBehindATimeOfDayAreReadTogether) {
  for (const auto& [file, count] : {std::pair{"mountain_fleecer_test_1.txt", 70},
                                    {"mountain_fleecer_test_2.txt", 334},
                                    {"mountain_fleecer_test_3.txt", 60}}) {
    const std::string text = raw(kYard, file);
    const Learnt learnt = learnt_from(text);
    ASSERT_TRUE(learnt.frame) << file;
    const auto heard = read_all(learnt, text);
    // Every line begins with a time and holds `Hello`, counted by grep.
    EXPECT_EQ(heard.size(), static_cast<std::size_t>(count)) << file;
    // Only node 1 sends a temperature.
    for (const Heard& row : heard)
      EXPECT_EQ(row.values.contains("temperature_c"), row.node == "1") << file;
  }
}

TEST_F(RealTexts, CommaRowsBetweenOtherLinesAreReadAsTheirLogHasThem) {
  const std::string text = raw(kYard, "three_nodes_main_hourly_part_raw.csv.xz");
  const Learnt learnt = learnt_from(text);
  ASSERT_TRUE(learnt.frame);
  EXPECT_EQ(column_of(field_of(learnt, FieldRole::name)), 0);
  EXPECT_EQ(column_of(field_of(learnt, FieldRole::sequence)), 1);
  EXPECT_EQ(column_of(field_of(learnt, FieldRole::time)), 2);
  EXPECT_EQ(column_of(field_of(learnt, FieldRole::supply)), 3);
  expect_same(read_all(learnt, text), log_rows(kYard, "three_nodes_hourly.csv.gz"),
              {{"seq", "seq"},
               {"time", "time"},
               {"supply_v", "supply_v"},
               {"temperature_c", "temperature_c"},
               {"humidity_pct", "humidity_pct"},
               {"last_tx_dur_ms", "tx_time_ms"}});
}

TEST_F(RealTexts, RowsWithoutNamesGiveNodeCounterAndTime) {
  const std::string text = raw(kYard, "yard_node3_sdcard_2021-04_2022-01.csv.xz");
  const Learnt learnt = learnt_from(text);
  ASSERT_TRUE(learnt.frame);
  EXPECT_EQ(sureness_of(learnt, "address"), Sureness::guess) << "one node alone";
  auto heard = read_all(learnt, text);
  const auto log = log_rows(kYard, "yard_node3_sent.csv.gz");  // to the end of June 2021
  ASSERT_GE(heard.size(), log.size());
  heard.resize(log.size());
  expect_same(heard, log,
              {{"seq", "seq"},
               {"time", "time"},
               {"column_3_raw", "supply_v", 0.01},
               {"column_5_raw", "temperature_c", 0.01},
               {"column_6_raw", "humidity_pct", 0.01}});
}

TEST_F(RealTexts, ATableWithNamesIsReadAsItsLogHasIt) {
  const std::string text = raw(kYard, "yard_nodes2_3_rx_2021-04_07.csv.xz");
  const Learnt learnt = learnt_from(text);
  ASSERT_TRUE(learnt.frame);
  EXPECT_EQ(field_of(learnt, FieldRole::supply)->conversion.scale, 1);
  expect_same(
      read_all(learnt, text), log_rows(kYard, "yard_nodes2_3_rx.csv.gz"),
      same({"seq", "time", "rssi_dbm", "supply_v", "temperature_c", "humidity_pct", "tx_time_ms"}));
}

TEST_F(RealTexts, DecimalCommasBetweenBlanksAreRead) {
  for (const std::string file : {"lib1_R1", "lib1_R2"}) {
    const std::string text = raw("ulb-library-802154", file + ".txt.xz");
    const Learnt learnt = learnt_from(text);
    ASSERT_TRUE(learnt.frame);
    EXPECT_EQ(learnt.frame->decimal, ',');
    EXPECT_EQ(column_of(field_of(learnt, FieldRole::name)), 1);
    EXPECT_EQ(column_of(field_of(learnt, FieldRole::sequence)), 2);
    expect_same(read_all(learnt, text), log_rows("ulb-library-802154", file + ".csv.gz"),
                {{"time", "time"},
                 {"column_3_raw", "board_temperature_c"},
                 {"column_4_raw", "supply_v"},
                 {"column_5_raw", "humidity_pct"},
                 {"column_6_raw", "temperature_c"},
                 {"column_7_raw", "light_raw"},
                 {"column_8_raw", "light_total_raw"}});
  }
}

TEST_F(RealTexts, ReportsThatSeveralReceiversHeardKeepTheirReceivers) {
  const char* const set = "li-socl2-tower-lora";
  for (const auto& [file, log] :
       {std::pair{"fort_outdoor_2023-06_2023-09.csv.xz", "fort_outdoor.csv.gz"},
        {"tower_2023-01_2023-09.csv.xz", "tower.csv.gz"}}) {
    const std::string text = raw(set, file);
    const Learnt learnt = learnt_from(text);
    ASSERT_TRUE(learnt.frame);
    EXPECT_EQ(column_of(field_of(learnt, FieldRole::receiver)), 3);
    const auto heard = read_all(learnt, text);
    const auto rows = log_rows(set, log);
    std::vector<Columns> columns = same({"seq", "time", "rssi_dbm", "snr_db"});
    if (std::string_view{log}.starts_with("tower")) {
      for (const Columns& more : same({"supply_v", "temperature_c", "humidity_pct"}))
        columns.push_back(more);
    }
    expect_same(heard, rows, columns);
    std::map<std::string, std::size_t> by_receiver;
    std::map<std::string, std::size_t> expected;
    for (const Heard& row : heard) ++by_receiver[row.receiver];
    for (const Heard& row : rows) ++expected[row.receiver];
    EXPECT_EQ(by_receiver, expected);
  }
}

TEST_F(RealTexts, MisspelledNamesBetweenTabsAreUnderstood) {
  const char* const set = "uncg-labelled-motes";
  for (const std::string file : {"singlehop-indoor-moteid1", "singlehop-indoor-moteid2",
                                 "singlehop-outdoor-moteid3", "singlehop-outdoor-moteid4"}) {
    const std::string text = raw(set, file + "-data.txt");
    const Learnt learnt = learnt_from(text);
    ASSERT_TRUE(learnt.frame) << file;
    expect_same(read_all(learnt, text), log_rows(set, file + ".csv.gz"),
                same({"seq", "temperature_c", "humidity_pct"}));
  }
}

TEST_F(RealTexts, AnAddressAndALevelAreFoundInAnUrbanList) {
  const std::string text = raw("lyon-868-urban", "patches2.csv.xz");
  const Learnt learnt = learnt_from(text);
  ASSERT_TRUE(learnt.frame);
  EXPECT_EQ(column_of(field_of(learnt, FieldRole::address)), 0);
  EXPECT_EQ(column_of(field_of(learnt, FieldRole::rssi)), 5);
  // Counters run by node and setting there, which no sheet can say.
  EXPECT_EQ(sureness_of(learnt, "counter"), Sureness::open);
  const auto heard = read_all(learnt, text);
  auto rows = log_rows("lyon-868-urban", "patches2_by_setting.csv.gz");
  // Lines that only say that a test began have no number in their payload: unread.
  std::erase_if(rows, [](const Heard& row) { return !row.values.contains("seq"); });
  ASSERT_EQ(heard.size(), rows.size());
  double ours = 0;
  double theirs = 0;
  for (const Heard& row : heard) ours += row.values.at("rssi_dbm");
  for (const Heard& row : rows) theirs += row.values.at("rssi_dbm");
  EXPECT_EQ(ours, theirs);
}

TEST_F(RealTexts, WeatherStationsAreToldApartWithoutACounter) {
  std::string text;
  for (const int station : {10, 2, 3, 4, 5, 6, 7, 8, 9}) {
    text += first_lines(
        raw("sensorscope-stbernard", "stbernard-meteo-" + std::to_string(station) + ".txt.xz"),
        300);
  }
  const Learnt learnt = learnt_from(text);
  ASSERT_TRUE(learnt.frame);
  EXPECT_EQ(column_of(field_of(learnt, FieldRole::name)), 0);
  EXPECT_EQ(column_of(field_of(learnt, FieldRole::time)), 7);
  EXPECT_EQ(field_of(learnt, FieldRole::sequence), nullptr) << "minutes are no counter";
  const auto heard = read_all(learnt, text);
  EXPECT_EQ(heard.size(), 2700U);
  // COLUMNS.md beside the set: column 10 is the temperature of the surface; NaN is nothing.
  EXPECT_TRUE(has_reading(learnt, "column_10_raw"));
}

TEST_F(RealTexts, AMultiHopListGivesTheFirstSenderAndItsCounter) {
  const std::string text = raw("tsch-testbed", "misc_test0.log.xz");
  const Learnt learnt = learnt_from(text, 8000);
  ASSERT_TRUE(learnt.frame);
  // README beside the set: bytes 12 and 13 are the counter, 15 the first hop's address.
  EXPECT_EQ(column_of(field_of(learnt, FieldRole::sequence)), 11);
  EXPECT_EQ(column_of(field_of(learnt, FieldRole::name)), 14);
  EXPECT_EQ(learnt.sequence.bits, 8) << "its low byte alone";
}

TEST_F(RealTexts, ASampledTableWithNamesIsRead) {
  const std::string text = raw("lorawan-medellin-subset", "subsampled_data.csv");
  const Learnt learnt = learnt_from(text);
  ASSERT_TRUE(learnt.frame);
  EXPECT_EQ(learnt.nodes, (std::vector<std::string>{"EN1", "EN2"}));
  EXPECT_EQ(column_of(field_of(learnt, FieldRole::sequence)), 2);
  EXPECT_EQ(column_of(field_of(learnt, FieldRole::rssi)), 5);
  EXPECT_EQ(column_of(field_of(learnt, FieldRole::snr)), 6);
  EXPECT_TRUE(has_reading(learnt, "temperature_c"));
  EXPECT_TRUE(has_reading(learnt, "humidity_pct"));
  EXPECT_EQ(read_all(learnt, text).size(),
            static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n')) - 1);
}

/// The values of one role or reading, line by line, where a report names no node.
std::size_t lines_with_level(const Learnt& learnt, const std::string& text) {
  struct Sink : wire::ReportSink {
    std::size_t count = 0;
    void report(const wire::ReportValues& values) override {
      count += values.rssi_dbm.has_value() ? 1 : 0;
    }
  } sink;
  const auto codec = wire::make_body_codec(*learnt.frame);
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    codec->decode({reinterpret_cast<const std::uint8_t*>(text.data()) + begin, end - begin}, sink);
    begin = end + 1;
  }
  return sink.count;
}

TEST_F(RealTexts, ListsOfOneNodeThatNobodyNamesAreSaidToLackIt) {
  struct Set {
    const char* set;
    const char* file;
    int counter;
    int level;
  };
  const Set sets[] = {{"jsi-unb-868", "2016-09_norep.csv", 0, 8},
                      {"jsi-unb-868", "2016-09_3rep.csv", 0, 8},
                      {"jsi-unb-868", "2016-09_randgain.csv", 0, 8},
                      {"lora-campus-survey", "static_NLOS_full.csv", 2, 9},
                      {"lora-campus-survey", "campus_by_car_gateway.csv", 0, 1},
                      {"microclimate-solar-wsn", "box_3B06.csv", 2, -1}};
  for (const Set& each : sets) {
    const std::string text = raw(each.set, each.file);
    const Learnt learnt = learnt_from(text);
    ASSERT_TRUE(learnt.frame) << each.file;
    EXPECT_EQ(sureness_of(learnt, "address"), Sureness::open) << each.file;
    EXPECT_EQ(column_of(field_of(learnt, FieldRole::sequence)), each.counter) << each.file;
    EXPECT_EQ(column_of(field_of(learnt, FieldRole::rssi)), each.level) << each.file;
    EXPECT_TRUE(read_all(learnt, text).empty()) << "no hearing without a node";
    if (std::string_view{each.set} != "jsi-unb-868") continue;
    const std::string log = std::string{each.file} + ".gz";
    EXPECT_EQ(lines_with_level(learnt, text), log_rows(each.set, log).size());
  }
}

}  // namespace
}  // namespace fieldfare::real
