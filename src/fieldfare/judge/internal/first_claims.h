// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/judge/first_beat.h"
#include "fieldfare/judge/first_day.h"

namespace fieldfare::judge::internal {

/// A verdict, and what a person is told where it isn't met.
struct Finding {
  Verdict verdict;
  std::string headline;
  std::string next;
};

/// A node with what its reports show.
struct SeenNode {
  const FirstNode& node;
  const FirstBeat& beat;
  std::vector<bool> is_provoked;  ///< for every report
};

// Each gives nothing where there is no basis for a verdict.

/// Steps of one, restarts where it was provoked.
std::optional<Finding> judge_counter(const SeenNode& seen);
/// The newest three reports against the sheet's ranges, else what the units allow, and
/// against the values that broken sensors give.
std::optional<Finding> judge_reading(const FirstNode& node);
/// Levels of the newest three reports.
std::optional<Finding> judge_margin(const SeenNode& seen, const ProofTerms& proof);
/// The network's number against the wanted one.
std::optional<Finding> judge_settings(const FirstNode& node, std::optional<std::uint64_t> wanted);

struct DeliveryFinding {
  Verdict verdict;
  std::optional<Instant> at;  ///< when it can be met
};
/// Losses between the first report and the newest.
std::optional<DeliveryFinding> judge_delivery(const SeenNode& seen, const ProofTerms& proof,
                                              Instant now);

/// The network's number in the newest report that has one.
std::optional<std::uint64_t> network_of(const FirstNode& node);

/// `one report`, `3 reports`.
std::string counted(std::uint64_t number, const char* one, const char* several);

}  // namespace fieldfare::judge::internal
