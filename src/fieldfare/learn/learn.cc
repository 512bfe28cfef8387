// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/learn.h"

#include <utility>

#include "fieldfare/learn/internal/kinds.h"

namespace fieldfare::learn {
namespace {

// Documents are lines as well, and lines are octets: the one that says more is
// taken as soon as it explains most of what came.
constexpr double kMost = 0.5;

Learnt nothing_learnt(const Sample& sample) {
  std::size_t octets = 0;
  for (const Arrival& arrival : sample.arrivals) octets += arrival.octets.size();
  Learnt out;
  out.findings.push_back(
      {"framing",
       Sureness::open,
       octets == 0 ? "nothing came"
                   : "nothing in " + std::to_string(octets) + " octets repeats itself as frames do",
       "more reports: of each of a few nodes five or more",
       {}});
  return out;
}

}  // namespace

Learnt learn(const Sample& sample) {
  std::optional<Explained> best;
  for (const auto& kind : {learn_tree, learn_text, learn_binary}) {
    std::optional<Explained> explained = kind(sample);
    if (!explained || (best && explained->share <= best->share)) continue;
    best = std::move(explained);
    if (best->share >= kMost && kind != learn_binary) break;
  }
  return best ? std::move(best->learnt) : nothing_learnt(sample);
}

}  // namespace fieldfare::learn
