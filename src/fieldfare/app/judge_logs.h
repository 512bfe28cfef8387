// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/app/site_facts.h"
#include "fieldfare/app/trouble.h"
#include "fieldfare/fleet/site.h"
#include "fieldfare/render/judge_view.h"

namespace fieldfare::app {

/// Told now and then how many rows were read in all.
using Progress = std::function<void(std::uint64_t rows)>;

/// What to judge, and how.
struct JudgeRequest {
  std::vector<std::string> logs;  ///< paths; `-` is standard input
  std::optional<Instant> from;    ///< of hearings, included
  std::optional<Instant> to;      ///< not included
  double confidence = 0.95;
  bool strict = false;        ///< a row that can't be read fails the whole
  bool keep_foreign = false;  ///< of captures, frames of nodes outside the roster as well
  SpokenFacts spoken;
  Progress progress;  ///< empty where nobody watches
};

/// A judged fleet with all that showing it needs.
struct Judged {
  std::unique_ptr<fleet::Labels> labels;
  judge::FleetVerdict verdict;
  render::RunFacts run;
  render::JudgeQuestion question;

  render::JudgeView view() const { return {verdict, *labels, run, question}; }
  /// True where a claim failed and there is a site to answer for it.
  bool answer_is_no() const;
};

/// Judges the hearings in logs, with the facts of a site or (nullptr) without.
///
/// Memory grows with nodes, not rows. A node whose hearings come more than the
/// fold's window late is folded again from its hearings sorted: read a second
/// time from files, kept in a temporary file from pipes; a note says so.
Result<Judged, Trouble> judge_logs(const JudgeRequest& request, const fleet::Site* site);

/// The question as the answer shows it.
render::JudgeQuestion question_of(const JudgeRequest& request, const fleet::Site* site);

}  // namespace fieldfare::app
