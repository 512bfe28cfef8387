// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <optional>

#include "fieldfare/base/instant.h"
#include "fieldfare/judge/verdict.h"

namespace fieldfare::judge {

/// What deliveries are wanted, and at which risks verdicts are given.
struct ProofTerms {
  double delivery_good = 0.97;  ///< a node this good passes with probability 1 - alpha
  double delivery_bad = 0.90;   ///< a node this bad fails with probability 1 - beta
  double alpha = 0.05;
  double beta = 0.05;
  double margin_db = 10;  ///< wanted above sensitivity; common practice
};

/// What is held against a node's evidence. Absent facts leave their claim out.
struct NodeTerms {
  bool listed = false;
  std::optional<Duration> interval;       ///< of its card
  std::optional<double> clock_tolerance;  ///< relative, 0.05 for 5 %
  std::optional<double> sensitivity_dbm;
  std::optional<double> overload_dbm;
};

struct JudgeOptions {
  ProofTerms proof;
  double confidence = 0.95;
  bool with_site = false;  ///< a roster exists: identity is judged, strangers are not
};

using TermsOf = std::function<NodeTerms(fleet::NodeIndex)>;

/// Claims and verdicts from evidence. Pure: the same evidence and terms give the
/// same verdicts.
FleetVerdict judge(evidence::FleetEvidence fleet, const TermsOf& terms_of,
                   const JudgeOptions& options);

}  // namespace fieldfare::judge
