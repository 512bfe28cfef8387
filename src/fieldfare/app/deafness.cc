// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/deafness.h"

#include <algorithm>
#include <cstdint>
#include <map>
#include <string>

namespace fieldfare::app {
namespace {

struct Break {
  Instant from;
  Instant to;
};

/// `listening` by its beginning.
std::vector<Break> breaks_of(const std::vector<const store::Listening*>& listening) {
  std::vector<Break> breaks;
  Instant until = listening.front()->to;
  for (const store::Listening* stretch : listening) {
    if (stretch->from > until && stretch->from - until >= kShortestBreak) {
      breaks.push_back({until, stretch->from});
    }
    until = std::max(until, stretch->to);
  }
  breaks.push_back({until, Instant{INT64_MAX}});
  return breaks;
}

}  // namespace

std::vector<evidence::Deafness> deafness_of(std::span<const store::Listening> listening,
                                            std::span<const store::ReceiverSource> receivers,
                                            fleet::Labels& labels) {
  std::map<std::string, std::vector<const store::Listening*>> by_source;
  for (const store::Listening& stretch : listening) by_source[stretch.source].push_back(&stretch);
  std::map<std::string, std::vector<Break>> breaks;
  for (auto& [source, stretches] : by_source) {
    std::stable_sort(stretches.begin(), stretches.end(),
                     [](const auto* a, const auto* b) { return a->from < b->from; });
    breaks[source] = breaks_of(stretches);
  }
  std::vector<evidence::Deafness> deaf;
  for (const store::ReceiverSource& way : receivers) {
    const auto found = breaks.find(way.source);
    const auto receiver = labels.receiver(way.receiver);
    if (found == breaks.end() || !receiver) continue;
    for (const Break& at : found->second) deaf.push_back({*receiver, at.from, at.to});
  }
  return deaf;
}

}  // namespace fieldfare::app
