// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/line.h"

#include <cassert>
#include <cmath>
#include <vector>

#include "fieldfare/stats/robust.h"

namespace fieldfare::stats {
namespace {

/// A sum that keeps what rounding drops. Source: A. Neumaier, ZAMM 54 (1974) 39-51.
class Sum {
 public:
  void add(double value) {
    const double next = sum_ + value;
    dropped_ += std::abs(sum_) >= std::abs(value) ? (sum_ - next) + value : (value - next) + sum_;
    sum_ = next;
  }
  double value() const { return sum_ + dropped_; }

 private:
  double sum_ = 0;
  double dropped_ = 0;
};

double mean_of(std::span<const double> x) {
  Sum sum;
  for (const double value : x) sum.add(value);
  return sum.value() / static_cast<double>(x.size());
}

}  // namespace

LineFit fit_line(std::span<const double> x, std::span<const double> y) {
  assert(x.size() == y.size() && x.size() >= 2);
  const auto n = static_cast<double>(x.size());
  const double x_mean = mean_of(x), y_mean = mean_of(y);
  Sum dx_sum, xx, xy;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double dx = x[i] - x_mean;
    dx_sum.add(dx);
    xx.add(dx * dx);
    xy.add(dx * (y[i] - y_mean));
  }
  // The rounded mean is off by a hair, which the second term takes back.
  const double spread = xx.value() - dx_sum.value() * dx_sum.value() / n;
  assert(spread > 0);
  const double slope = xy.value() / spread;

  Sum intercepts;
  for (std::size_t i = 0; i < x.size(); ++i) {
    intercepts.add(y[i]);
    intercepts.add(-slope * x[i]);
  }
  const double intercept = intercepts.value() / n;
  if (x.size() == 2) return {intercept, slope, 0, 0, 0};

  Sum squares;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double residual = y[i] - intercept - slope * x[i];
    squares.add(residual * residual);
  }
  const double residual_sd = std::sqrt(squares.value() / (n - 2));
  return {intercept, slope, residual_sd * std::sqrt(1 / n + x_mean * x_mean / spread),
          residual_sd / std::sqrt(spread), residual_sd};
}

Line theil_sen(std::span<const double> x, std::span<const double> y) {
  assert(x.size() == y.size() && x.size() >= 2 && x.size() <= kMostTheilSenPoints);
  std::vector<double> slopes;
  slopes.reserve(x.size() * (x.size() - 1) / 2);
  for (std::size_t i = 0; i < x.size(); ++i) {
    for (std::size_t j = i + 1; j < x.size(); ++j) {
      if (x[i] != x[j]) slopes.push_back((y[j] - y[i]) / (x[j] - x[i]));
    }
  }
  const double slope = median(slopes);
  if (!std::isfinite(slope)) return {slope, slope};
  std::vector<double> intercepts;
  intercepts.reserve(x.size());
  for (std::size_t i = 0; i < x.size(); ++i) intercepts.push_back(y[i] - slope * x[i]);
  return {median(intercepts), slope};
}

}  // namespace fieldfare::stats
