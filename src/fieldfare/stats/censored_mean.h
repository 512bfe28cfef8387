// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>

namespace fieldfare::stats {

/// Levels measured above a threshold; how many were not, because they lay below
/// it or for a reason of their own.
struct CensoredSample {
  std::uint64_t measured;
  double mean;  ///< of the measured
  double sd;    ///< of the measured, > 0
  std::uint64_t missed;
  double threshold;  ///< below it nothing is measured
};

struct CensoredFit {
  double mean;
  double sd;
  double outage;  ///< share missed for another reason than the threshold
};

/// Maximum likelihood of a normal level of which only values above the threshold
/// are measured, and which is missed with probability
/// outage + (1 - outage) P(level < threshold).
///
/// The mean of what was measured alone is biased high where reports are lost
/// for being weak. With outage free the likelihood is that of the truncated
/// normal, unless that loses more to the threshold than was missed; then outage is
/// 0 and the likelihood that of the censored normal (Tobit).
///
/// At least two measured values. The sd is the maximum likelihood one; with few
/// values it is low by about 1 / (2 n).
/// Source: Cohen, Technometrics 1 (1959) 217-237, for both likelihoods (from
/// memory).
CensoredFit fit_censored(const CensoredSample& sample);

}  // namespace fieldfare::stats
