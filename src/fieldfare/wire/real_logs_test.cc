// SPDX-License-Identifier: Apache-2.0
// Logs made from open measurements of others; none of their rows stand here.
#include <gtest/gtest.h>

#include <array>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>

#include "fieldfare/wire/gunzip.h"
#include "fieldfare/wire/test_support.h"

namespace fieldfare::wire {
namespace {

namespace fs = std::filesystem;

fs::path data_folder() {
  if (const char* named = std::getenv("FIELDFARE_DATA")) return named;
  return fs::path{FIELDFARE_SOURCE_DIR} / ".." / "shared" / "data";
}

std::vector<fs::path> logs_in(const fs::path& folder) {
  std::vector<fs::path> logs;
  for (const auto& set : fs::directory_iterator{folder}) {
    if (!fs::is_directory(set.path() / "as-log")) continue;
    for (const auto& log : fs::directory_iterator{set.path() / "as-log"}) {
      if (log.path().extension() == ".gz") logs.push_back(log.path());
    }
  }
  return logs;
}

Ledger ledger_of(const fs::path& path) {
  Ledger ledger;
  fleet::Labels labels;
  LogParser parser{{path.filename().string(), {}}, labels, ledger};
  Gunzip gunzip{path.filename().string()};
  const HearingSink ignore = [](const fleet::Hearing&) {};
  const ByteSink parse = [&](std::string_view bytes) { parser.feed(bytes, ignore); };
  std::ifstream file{path, std::ios::binary};
  std::array<char, 10'000> block;
  while (file.read(block.data(), block.size()), file.gcount() > 0) {
    gunzip.feed({block.data(), static_cast<std::size_t>(file.gcount())}, parse);
  }
  gunzip.finish(parse);
  parser.finish(ignore);
  EXPECT_FALSE(gunzip.complaint()) << path;
  EXPECT_FALSE(parser.fatal()) << path;
  return ledger;
}

// Source: the count of lines by zcat and grep: 13 rows carry times of 1970, of
// clocks not yet set, all in one bench log.
TEST(RealLogs, AreReadWholeButForRowsOfClocksNotYetSet) {
  if (!fs::exists(data_folder())) {
    GTEST_SKIP() << "no folder " << data_folder() << "; set FIELDFARE_DATA to where it is";
  }
  Ledger all;
  for (const fs::path& log : logs_in(data_folder())) {
    const Ledger ledger = ledger_of(log);
    EXPECT_EQ(ledger.rows_skipped(), log.filename() == "three_nodes_bench_ugly.csv.gz" ? 13u : 0u)
        << log;
    all.merge(ledger);
  }
  EXPECT_EQ(all.skipped_by_reason(), (Ledger::Counts{{"clock-not-believed", 13}}));
}

}  // namespace
}  // namespace fieldfare::wire
