// SPDX-License-Identifier: Apache-2.0
//
// benchmark_judge_year [DAYS]: how fast logs and stores of 200 nodes are judged,
// over DAYS days (365 where not given: 10.2 million hearings). Prints
// `name value unit` lines. All data is invented.

#include <sys/resource.h>

#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <filesystem>
#include <fstream>
#include <string>
#include <utility>

#include "fieldfare/app/import_logs.h"
#include "fieldfare/app/judge_logs.h"
#include "fieldfare/app/judge_store.h"
#include "year.h"

namespace {

namespace app = fieldfare::app;
namespace truth = fieldfare::truth;

double cpu_s() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

double most_memory_mb() {
  rusage usage{};
  getrusage(RUSAGE_SELF, &usage);
  return static_cast<double>(usage.ru_maxrss) / 1024;
}

std::uint64_t write_log(const std::string& path, const truth::YearSize& size,
                        void (*append)(const truth::YearRow&, std::string&), std::string text) {
  constexpr std::size_t kBlock = std::size_t{1} << 20U;
  std::ofstream out{path, std::ios::binary};
  const std::uint64_t rows = truth::stream_year(size, [&](const truth::YearRow& row) {
    append(row, text);
    if (text.size() < kBlock) return;
    out << text;
    text.clear();
  });
  out << text;
  return rows;
}

/// Prints the rows that `judge` gets through in a CPU second.
template <class Judge>
void measure(const char* name, std::uint64_t rows, Judge&& judge) {
  const double begin = cpu_s();
  if (!judge()) {
    std::fprintf(stderr, "judge_year: %s failed\n", name);
    std::exit(1);
  }
  const double taken_s = cpu_s() - begin;
  std::printf("judge_year.%s %.0f rows/cpu_s\n", name, static_cast<double>(rows) / taken_s);
  std::printf("judge_year.%s-time %.2f cpu_s\n", name, taken_s);
  std::printf("judge_year.%s-memory-so-far %.0f MB\n", name, most_memory_mb());
}

}  // namespace

int main(int count, char** arguments) {
  truth::YearSize size;
  if (count > 1) size.days = static_cast<std::uint32_t>(std::strtoul(arguments[1], nullptr, 10));
  const std::filesystem::path folder = std::filesystem::current_path() / "judge_year.tmp";
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder);
  const std::string csv = folder / "year.csv";
  const std::string json = folder / "year.jsonl";
  const std::uint64_t rows =
      write_log(csv, size, truth::append_year_csv, std::string{truth::year_csv_header()});
  write_log(json, size, truth::append_year_json, {});
  std::printf("judge_year.hearings %llu count\n", static_cast<unsigned long long>(rows));

  const auto judge_log = [](const std::string& path) {
    app::JudgeRequest request;
    request.logs = {path};
    return app::judge_logs(request, nullptr).has_value();
  };
  measure("csv", rows, [&] { return judge_log(csv); });
  measure("json-lines", rows, [&] { return judge_log(json); });

  const fieldfare::fleet::Site site;
  app::ImportRequest import;
  import.folder = folder;
  import.logs = {csv};
  measure("import", rows, [&] { return app::import_logs(import, site).has_value(); });
  const auto judge_store = [&] { return app::judge_store({}, folder, site).has_value(); };
  measure("store-first", rows, judge_store);
  measure("store-again", rows, judge_store);
  std::filesystem::remove_all(folder);
  return 0;
}
