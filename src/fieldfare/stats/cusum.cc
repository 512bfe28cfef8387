// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/cusum.h"

#include <cassert>
#include <cmath>
#include <numbers>
#include <vector>

#include "fieldfare/stats/quadrature.h"

namespace fieldfare::stats {
namespace {

double normal_density(double z) { return std::exp(-z * z / 2) / std::sqrt(2 * std::numbers::pi); }
double normal_below(double z) { return std::erfc(-z / std::numbers::sqrt2) / 2; }
double normal_above(double z) { return normal_below(-z); }

/// A chain that goes from state i to j with weight step(i, j) or ends with
/// weight ends[i]. What stays in a state never needs to be known: it is what is
/// left over.
class Chain {
 public:
  explicit Chain(std::size_t states) : steps_(states * states), ends_(states) {}

  double& step(std::size_t from, std::size_t to) { return steps_[from * ends_.size() + to]; }
  double& end(std::size_t from) { return ends_[from]; }

  /// The mean number of steps from state 0 until the chain ends. Eliminates
  /// the states from the last to the first; only adds, multiplies and divides
  /// positive numbers, so that each keeps its relative accuracy.
  double mean_steps_from_first() {
    std::vector<double> steps_taken(ends_.size(), 1.0);
    for (std::size_t gone = ends_.size(); gone-- > 1;) {
      double leaving = ends_[gone];
      for (std::size_t to = 0; to < gone; ++to) leaving += step(gone, to);
      for (std::size_t from = 0; from < gone; ++from) {
        const double visits = step(from, gone) / leaving;
        for (std::size_t to = 0; to < gone; ++to) step(from, to) += visits * step(gone, to);
        ends_[from] += visits * ends_[gone];
        steps_taken[from] += visits * steps_taken[gone];
      }
    }
    return steps_taken[0] / ends_[0];
  }

 private:
  std::vector<double> steps_;
  std::vector<double> ends_;
};

}  // namespace

double cusum_arl_one_sided(const CusumDesign& design, double shift) {
  assert(design.k >= 0 && design.h > 0 && design.h <= kLargestCusumInterval);
  assert(std::isfinite(shift));
  // The kernel is a normal density of unit width, so some nodes for each unit of
  // h and a few dozen for its ends leave only rounding (see the test).
  const auto nodes = static_cast<std::size_t>(40 + 5 * design.h);
  const Quadrature rule = gauss_legendre(nodes, 0, design.h);
  Chain chain{nodes + 1};
  for (std::size_t from = 0; from <= nodes; ++from) {
    const double drift = (from == 0 ? 0 : rule.nodes[from - 1]) - design.k + shift;
    chain.step(from, 0) = normal_below(-drift);
    for (std::size_t to = 0; to < nodes; ++to) {
      chain.step(from, to + 1) = rule.weights[to] * normal_density(rule.nodes[to] - drift);
    }
    chain.end(from) = normal_above(design.h - drift);
  }
  return chain.mean_steps_from_first();
}

double cusum_arl_two_sided(const CusumDesign& design, double shift) {
  return 1 / (1 / cusum_arl_one_sided(design, shift) + 1 / cusum_arl_one_sided(design, -shift));
}

}  // namespace fieldfare::stats
