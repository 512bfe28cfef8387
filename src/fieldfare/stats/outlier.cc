// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/outlier.h"

#include <boost/math/distributions/students_t.hpp>
#include <cassert>
#include <cmath>

namespace fieldfare::stats {
namespace {

/// Gives infinity instead of throwing where alpha is so small that t overflows.
using Quiet = boost::math::policies::policy<
    boost::math::policies::overflow_error<boost::math::policies::ignore_error>>;
using StudentsT = boost::math::students_t_distribution<double, Quiet>;

}  // namespace

double grubbs_critical(std::size_t n, double alpha, Sides sides) {
  assert(n >= 3 && alpha > 0 && alpha < 1);
  const auto count = static_cast<double>(n);
  const double tail = alpha / (sides == Sides::two ? 2 * count : count);
  const double degrees = count - 2;
  const StudentsT student{degrees};
  const double t = quantile(complement(student, tail));
  return (count - 1) / std::sqrt(count) / std::sqrt(1 + degrees / t / t);
}

GrubbsTest grubbs(std::span<const double> x, double alpha) {
  const double critical = grubbs_critical(x.size(), alpha, Sides::two);
  const auto n = static_cast<double>(x.size());
  double mean = 0;
  for (const double value : x) mean += value / n;
  double squares = 0;
  std::size_t farthest = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    squares += (x[i] - mean) * (x[i] - mean);
    if (std::abs(x[i] - mean) > std::abs(x[farthest] - mean)) farthest = i;
  }
  const double sd = std::sqrt(squares / (n - 1));
  if (sd == 0) return {0, critical, std::nullopt};
  const double statistic = std::abs(x[farthest] - mean) / sd;
  return {statistic, critical, statistic > critical ? std::optional{farthest} : std::nullopt};
}

}  // namespace fieldfare::stats
