// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>

namespace fieldfare::stats {

/// A sequential probability ratio test on lost reports: is the loss ratio
/// `loss_good` or less, or `loss_bad` or more? `alpha` is the wanted risk of
/// failing a good node, `beta` that of passing a bad one.
/// Preconditions everywhere: 0 < loss_good < loss_bad < 1, alpha and beta
/// positive, alpha + beta < 1.
struct SprtDesign {
  double loss_good;
  double loss_bad;
  double alpha;
  double beta;
};

/// After n reports of which d were lost the test fails the node as soon as
/// d >= intercept_high + slope n, passes it as soon as d <= intercept_low + slope n,
/// and goes on in between.
struct SprtLines {
  double slope;
  double intercept_low;   ///< negative
  double intercept_high;  ///< positive
};

/// Source: A. Wald, Sequential Analysis (1947), chapter 5.
SprtLines sprt_lines(const SprtDesign& design);

/// The mean number of reports until the decision where the true ratio of lost
/// reports is `loss`, by Wald's approximation, which neglects how far the last
/// step overshoots the line: some per cent to some ten per cent too small.
/// Precondition: 0 < loss < 1. Source: as sprt_lines().
double sprt_expected_reports(const SprtDesign& design, double loss);

/// What the test really does, from the recursion over the number lost.
struct SprtBehaviour {
  double expected_reports;
  double passed;     ///< probability of passing the node
  double failed;     ///< probability of failing it
  double undecided;  ///< still open after the most reports allowed
};

/// Follows the probabilities of all (reports, lost) from report to report until
/// less than 1e-12 is undecided or `most_reports` are through; in the latter
/// case `undecided` says how much, and `expected_reports` counts those as
/// stopped there. Independent losses. Takes time in proportion to the reports
/// times the distance between the lines.
/// Precondition: 0 <= loss <= 1.
SprtBehaviour sprt_behaviour(const SprtDesign& design, double loss,
                             std::uint64_t most_reports = 100'000);

}  // namespace fieldfare::stats
