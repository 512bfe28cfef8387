// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/judge/verdict.h"
#include "fieldfare/render/run_facts.h"

namespace fieldfare::render {

/// What was asked, and of which place.
struct JudgeQuestion {
  std::optional<Instant> from;  ///< included
  std::optional<Instant> to;    ///< not included
  double confidence = 0.95;     ///< of every interval
  bool with_site = false;
  std::string time_zone = "UTC";  ///< of this process, to be shown
  std::string site_name;          ///< empty without a site
  bool invented = false;  ///< the site and its data are made up; said wherever they are shown
};

/// All that the answers about a fleet are drawn from. Refers to what it shows.
struct JudgeView {
  const judge::FleetVerdict& verdict;
  const fleet::Labels& labels;
  const RunFacts& run;
  const JudgeQuestion& question;
};

/// The first and last hearing of all nodes; nothing where nothing was heard.
struct Stretch {
  std::optional<Instant> first;
  std::optional<Instant> last;
};
Stretch heard_stretch(const judge::FleetVerdict& verdict);

/// The words of verdicts and counter breaks, the same on screens and in JSON.
const char* word_of(judge::Claim claim);
const char* word_of(judge::Outcome outcome);
const char* word_of(evidence::BreakKind kind);

}  // namespace fieldfare::render
