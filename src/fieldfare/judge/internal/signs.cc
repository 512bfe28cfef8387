// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/judge/internal/signs.h"

#include <algorithm>
#include <tuple>

namespace fieldfare::judge::internal {

Sign sign_of(const FirstNode& node, const FirstBeat& beat, std::size_t report) {
  const CounterStep& step = beat.steps[report];
  if (step.kind == StepKind::restart) return Sign::restart;
  if (step.kind == StepKind::still && step.at_start) return Sign::restart;
  // Of a full list the first was not the first.
  if (report == 0 && node.reports.size() < kMostFirstReports) {
    return step.at_start ? Sign::fresh : Sign::first;
  }
  return beat.is_extra[report] ? Sign::extra : Sign::maybe_a_beat;
}

std::vector<Shown> signs_of(const FirstDay& day, std::span<const FirstBeat> beats) {
  std::vector<Shown> signs;
  for (std::size_t node = 0; node < day.nodes.size(); ++node) {
    const auto& reports = day.nodes[node].reports;
    for (std::size_t report = 0; report < reports.size(); ++report) {
      const Sign sign = sign_of(day.nodes[node], beats[node], report);
      if (sign <= Sign::extra) signs.push_back({reports[report].at, node, report, sign});
    }
  }
  std::sort(signs.begin(), signs.end(), [](const Shown& a, const Shown& b) {
    return std::tie(a.at, a.node, a.report) < std::tie(b.at, b.node, b.report);
  });
  return signs;
}

std::vector<std::size_t> unasked_signs(const FirstDay& day, std::span<const Shown> signs) {
  std::vector<std::size_t> counts(day.nodes.size());
  for (const Shown& shown : signs) {
    if (shown.report == 0) continue;  // every node has a first report
    const auto said = std::lower_bound(
        day.provocations.begin(), day.provocations.end(), shown.at - kProvokedAfter,
        [](const Provocation& provocation, Instant at) { return provocation.said < at; });
    const bool asked = said != day.provocations.end() && said->said <= shown.at + kProvokedBefore;
    if (!asked) ++counts[shown.node];
  }
  return counts;
}

}  // namespace fieldfare::judge::internal
