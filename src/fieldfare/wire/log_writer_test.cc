// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/log_writer.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "fieldfare/wire/test_support.h"

namespace fieldfare::wire {
namespace {

const std::vector<std::string> kAllColumns = {
    "time", "node",      "receiver",   "seq",      "rssi_dbm",      "snr_db",
    "lqi",  "noise_dbm", "arrived_at", "supply_v", "temperature_c", "odd, \"name\"_m"};

std::string write(LogFormat format, const fleet::Hearing& hearing, fleet::Labels& labels) {
  const LogWriter writer{format, kAllColumns, labels};
  std::string log = writer.header();
  writer.append(hearing, log);
  return log;
}

std::optional<double> some_number() {
  if (*rc::gen::arbitrary<bool>()) return std::nullopt;
  const auto value = *rc::gen::oneOf(
      rc::gen::arbitrary<double>(),
      rc::gen::map(rc::gen::inRange(-100'000, 100'000), [](int n) { return n / 100.0; }));
  return std::isfinite(value) ? std::optional{value} : std::nullopt;
}

Instant some_time() {
  return {*rc::gen::inRange<std::int64_t>(946'684'800'000'000'000, 2'147'483'647'000'000'000)};
}

std::string some_name() {
  return *rc::gen::nonEmpty(
      rc::gen::container<std::string>(rc::gen::elementOf(std::string{"abcG -,\"\\'{}:/#"})));
}

TEST(LogWriter, WritesWhatTheParserReadsBack) {
  EXPECT_TRUE(rc::check([] {
    fleet::Labels labels;
    std::vector<fleet::Reading> readings;
    for (const char* name : {"temperature_c", "odd, \"name\"_m"}) {
      if (const auto value = some_number()) readings.push_back({*labels.field(name), *value});
    }
    fleet::Hearing hearing;
    hearing.time = some_time();
    if (*rc::gen::arbitrary<bool>()) hearing.arrived_at = some_time();
    // Blanks at the ends of names are not kept by CSV.
    hearing.node = *labels.node("n" + some_name() + "n");
    hearing.receiver = *labels.receiver("r" + some_name() + "r");
    if (*rc::gen::arbitrary<bool>()) hearing.sequence = *rc::gen::arbitrary<std::uint64_t>();
    hearing.rssi_dbm = some_number();
    hearing.snr_db = some_number();
    hearing.lqi = some_number();
    hearing.noise_dbm = some_number();
    hearing.supply_v = some_number();
    hearing.readings = readings;
    test::Heard expected = test::with_names(hearing, labels);
    for (const LogFormat format : {LogFormat::csv, LogFormat::json_lines}) {
      const test::Outcome outcome = test::read(write(format, hearing, labels));
      RC_ASSERT(outcome.skipped().empty());
      RC_ASSERT(outcome.heard.size() == 1u);
      expected.implausible = outcome.heard[0].implausible;  // judged by the parser
      RC_ASSERT(outcome.heard[0] == expected);
    }
  }));
}

// Reference: the nlohmann JSON library.
TEST(LogWriter, WritesJsonThatALibraryReads) {
  fleet::Labels labels;
  fleet::Hearing hearing;
  hearing.time = *parse_rfc3339("2026-03-02T07:15:00.25Z");
  hearing.node = *labels.node("cave \"1\"\\\n");
  hearing.receiver = *labels.receiver("K\xC3\xA4se");
  hearing.rssi_dbm = -87.5;
  const auto json = nlohmann::json::parse(write(LogFormat::json_lines, hearing, labels));
  EXPECT_EQ(json, (nlohmann::json{{"time", "2026-03-02T07:15:00.250Z"},
                                  {"node", "cave \"1\"\\\n"},
                                  {"receiver", "K\xC3\xA4se"},
                                  {"rssi_dbm", -87.5}}));
}

TEST(LogWriter, WritesNumbersInTheirShortestForm) {
  fleet::Labels labels;
  fleet::Hearing hearing;
  hearing.time = *parse_rfc3339("2026-03-02T07:15:00Z");
  hearing.node = *labels.node("5CE7");
  hearing.receiver = *labels.receiver("r1");
  hearing.snr_db = 0.1;
  hearing.supply_v = 3.0;
  EXPECT_EQ(write(LogFormat::csv, hearing, labels),
            "time,node,receiver,seq,rssi_dbm,snr_db,lqi,noise_dbm,arrived_at,supply_v,"
            "temperature_c,\"odd, \"\"name\"\"_m\"\n"
            "2026-03-02T07:15:00Z,5CE7,r1,,,0.1,,,,3,,\n");
}

}  // namespace
}  // namespace fieldfare::wire
