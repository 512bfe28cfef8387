// SPDX-License-Identifier: Apache-2.0
//
// fieldfare_truth_measure [LOGS]: all figures of honesty from LOGS generated logs
// a study (1,000 where not given), a line each: `truth.measure/study value unit`.
// The last lines say how many figures have limits and how many of those hold,
// without allowance for chance; those that do not are told on standard error.
// Exits 1 where one does not, 2 on wrong usage.
#include <charconv>
#include <cstddef>
#include <cstdio>
#include <span>
#include <string_view>

#include "studies.h"

namespace {

using fieldfare::truth::Figure;

void print(const Figure& figure) {
  std::printf("truth.%s/%s %.4g %s\n", figure.measure.c_str(), figure.study.c_str(), figure.value,
              figure.unit.c_str());
  if (figure.holds()) return;
  std::fprintf(
      stderr, "does not hold: %s/%s: %llu of %llu, to be a share of %g to %g\n",
      figure.measure.c_str(), figure.study.c_str(), static_cast<unsigned long long>(figure.hits),
      static_cast<unsigned long long>(figure.trials), figure.limits->least, figure.limits->most);
}

}  // namespace

int main(int count, char** words) {
  const std::span<char*> arguments{words, static_cast<std::size_t>(count)};
  std::size_t logs = 1000;
  if (arguments.size() > 1) {
    const std::string_view text = arguments[1];
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), logs);
    if (error != std::errc{} || end != text.data() + text.size() || logs == 0) {
      std::fprintf(stderr, "usage: fieldfare_truth_measure [LOGS]\n");
      return 2;
    }
  }
  std::size_t limited = 0;
  std::size_t held = 0;
  for (const Figure& figure : fieldfare::truth::measured(fieldfare::truth::all_studies(), logs,
                                                         fieldfare::truth::judge_in_process)) {
    print(figure);
    limited += figure.limits ? 1 : 0;
    held += figure.limits && figure.holds() ? 1 : 0;
  }
  std::printf("truth.limits %zu count\ntruth.limits-held %zu count\n", limited, held);
  return held == limited ? 0 : 1;
}
