// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <limits>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/internal/report_series.h"

// How many bits it takes to write down what some octets of all reports hold, if they
// are such and such. The right cut into fields takes the fewest: a number moves
// little from one report of a node to the next, and its parts alone move much.
//
// Source of the idea: Rissanen's minimum description length. The codes: differences
// by a two-sided geometric or a normal distribution whose width is fitted, and
// levels by a mixture of all equally likely and small ones likelier; what each kind
// of field costs to name are our own choices (a rule of thumb).
namespace fieldfare::learn {

inline constexpr double kImpossible = std::numeric_limits<double>::infinity();

/// What the octet at `at` takes as a constant of all reports; impossible where it isn't.
double constant_bits(const ReportSeries& series, std::size_t at);

/// As a constant of each node.
double node_constant_bits(const ReportSeries& series, std::size_t at);

/// What any octet takes as noise, which nothing tells beforehand.
double noise_bits(const ReportSeries& series);

struct NumberBits {
  double bits = kImpossible;
  bool moves = false;        ///< some report differs from the one before of its node
  bool around_mean = false;  ///< it is told best as noise around a mean of each node
};

/// As a number of this form.
NumberBits number_bits(const ReportSeries& series, std::size_t at, const fleet::NumberForm& form);

}  // namespace fieldfare::learn
