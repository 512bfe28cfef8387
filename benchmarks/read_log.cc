// SPDX-License-Identifier: Apache-2.0
// How many rows a CPU second LogParser reads, from memory and with a sink that
// only counts. Prints `name value unit` lines. All data is invented.

#include <algorithm>
#include <array>
#include <cstdint>
#include <cstdio>
#include <ctime>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/fleet/labels.h"
#include "fieldfare/wire/ledger.h"
#include "fieldfare/wire/log_parser.h"
#include "fieldfare/wire/log_writer.h"

namespace {

using fieldfare::fleet::FieldIndex;
using fieldfare::fleet::Hearing;
using fieldfare::fleet::Labels;
using fieldfare::fleet::Reading;
namespace wire = fieldfare::wire;

constexpr std::size_t kRows = 1'000'000;
constexpr std::uint64_t kNodes = 200;
constexpr std::size_t kBlock = 256 * 1024;  // as read from a file
constexpr int kRounds = 5;

const std::vector<std::string> kColumns = {"time",     "node",   "receiver",     "seq",
                                           "rssi_dbm", "snr_db", "temperature_c"};

std::string make_log(wire::LogFormat format) {
  Labels labels;
  const wire::LogWriter writer{format, kColumns, labels};
  const FieldIndex temperature = *labels.field("temperature_c");
  std::string log = writer.header();
  std::array<char, 24> address{};
  std::array<Reading, 1> readings{};
  for (std::uint64_t row = 0; row < kRows; ++row) {
    std::snprintf(address.data(), address.size(), "024D2100%08X",
                  static_cast<unsigned>(0x5CE7 + 97 * (row % kNodes)));
    Hearing hearing;
    hearing.time = {1'772'435'700'250'000'000 + static_cast<std::int64_t>(row) * 150'000'000};
    hearing.node = *labels.node(address.data());
    hearing.receiver = *labels.receiver("r1");
    hearing.sequence = row / kNodes % 65'536;
    hearing.rssi_dbm = -60.0 - static_cast<double>(row * 7 % 80) / 2;
    hearing.snr_db = static_cast<double>(row * 11 % 60) / 4 - 5;
    readings[0] = {temperature, static_cast<double>(row * 13 % 2500) / 100};
    hearing.readings = readings;
    writer.append(hearing, log);
  }
  return log;
}

double cpu_seconds() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

/// The median over some rounds, in rows per CPU second.
double rows_per_second(std::string_view log) {
  std::vector<double> rates;
  for (int round = 0; round < kRounds; ++round) {
    Labels labels;
    wire::Ledger ledger;
    wire::LogParser parser{{"invented", {}}, labels, ledger};
    std::uint64_t count = 0;
    const wire::HearingSink sink = [&](const Hearing&) { ++count; };
    const double start = cpu_seconds();
    for (std::size_t at = 0; at < log.size(); at += kBlock) {
      parser.feed(log.substr(at, kBlock), sink);
    }
    parser.finish(sink);
    rates.push_back(static_cast<double>(count) / (cpu_seconds() - start));
    if (count != kRows || ledger.rows_skipped() != 0) std::puts("read_log_rows_lost 1 bool");
  }
  std::sort(rates.begin(), rates.end());
  return rates[rates.size() / 2];
}

}  // namespace

int main() {
  std::printf("read_log_csv %.0f rows_per_cpu_s\n",
              rows_per_second(make_log(wire::LogFormat::csv)));
  std::printf("read_log_json_lines %.0f rows_per_cpu_s\n",
              rows_per_second(make_log(wire::LogFormat::json_lines)));
}
