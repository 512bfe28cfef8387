// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/stats/sprt.h"

#include <boost/math/tools/roots.hpp>
#include <cassert>
#include <cmath>
#include <vector>

// Wald's notation: a report adds z to the logarithm of the likelihood ratio,
// `z_lost` where it was lost and `z_heard` where not; the test stops below ln B
// and above ln A.
namespace fieldfare::stats {
namespace {

struct Walk {
  double z_lost;
  double z_heard;
  double ln_a;
  double ln_b;

  explicit Walk(const SprtDesign& d)
      : z_lost{std::log(d.loss_bad / d.loss_good)},
        z_heard{std::log1p(-d.loss_bad) - std::log1p(-d.loss_good)},
        ln_a{std::log((1 - d.beta) / d.alpha)},
        ln_b{std::log(d.beta / (1 - d.alpha))} {
    assert(0 < d.loss_good && d.loss_good < d.loss_bad && d.loss_bad < 1);
    assert(d.alpha > 0 && d.beta > 0 && d.alpha + d.beta < 1);
  }

  double mean_step(double loss) const { return loss * z_lost + (1 - loss) * z_heard; }
};

/// The root h != 0 of E[exp(h z)] = 1, from which Wald's operating
/// characteristic follows. Precondition: the mean step isn't zero.
double wald_exponent(const Walk& walk, double loss) {
  const auto excess = [&](double h) {
    return loss * std::expm1(h * walk.z_lost) + (1 - loss) * std::expm1(h * walk.z_heard);
  };
  // Convex with a root at 0, so the other root lies against the mean step.
  const double direction = walk.mean_step(loss) < 0 ? 1 : -1;
  double far = direction;
  while (excess(far) < 0) far *= 2;
  double near = far / 2;
  while (excess(near) > 0) near /= 2;
  std::uintmax_t steps = 200;
  const boost::math::tools::eps_tolerance<double> tolerance{52};
  const auto bracket = boost::math::tools::toms748_solve(excess, std::min(near, far),
                                                         std::max(near, far), tolerance, steps);
  return (bracket.first + bracket.second) / 2;
}

/// The undecided: how probable each number of lost reports still is.
class Undecided {
 public:
  void report(double loss) {
    probability_.push_back(0);
    for (std::size_t i = probability_.size(); i-- > 1;) {
      probability_[i] = probability_[i] * (1 - loss) + probability_[i - 1] * loss;
    }
    probability_[0] *= 1 - loss;
  }

  /// Takes out those with at most `most` lost and says how probable they were.
  double take_up_to(double most) {
    double taken = 0;
    std::size_t count = 0;
    while (count < probability_.size() && fewest_ + static_cast<double>(count) <= most) {
      taken += probability_[count++];
    }
    probability_.erase(probability_.begin(), probability_.begin() + static_cast<long>(count));
    fewest_ += static_cast<double>(count);
    return taken;
  }

  double take_from(double least) {
    double taken = 0;
    while (!probability_.empty() &&
           fewest_ + static_cast<double>(probability_.size() - 1) >= least) {
      taken += probability_.back();
      probability_.pop_back();
    }
    return taken;
  }

  double total() const {
    double sum = 0;
    for (const double p : probability_) sum += p;
    return sum;
  }

 private:
  std::vector<double> probability_{1.0};
  double fewest_ = 0;  ///< lost reports of the first entry
};

}  // namespace

SprtLines sprt_lines(const SprtDesign& design) {
  const Walk walk{design};
  const double per_loss = walk.z_lost - walk.z_heard;
  return {-walk.z_heard / per_loss, walk.ln_b / per_loss, walk.ln_a / per_loss};
}

double sprt_expected_reports(const SprtDesign& design, double loss) {
  assert(loss > 0 && loss < 1);
  const Walk walk{design};
  const double mean = walk.mean_step(loss);
  const double variance =
      loss * walk.z_lost * walk.z_lost + (1 - loss) * walk.z_heard * walk.z_heard;
  // Where the walk has no drift to speak of, the quotient below is 0/0.
  if (std::abs(mean) < 1e-9 * std::sqrt(variance)) return -walk.ln_a * walk.ln_b / variance;
  const double h = wald_exponent(walk, loss);
  // Written so that it tends to 1 or 0 where one of the two overflows.
  const double passes = 1 / (1 - std::expm1(h * walk.ln_b) / std::expm1(h * walk.ln_a));
  return (passes * walk.ln_b + (1 - passes) * walk.ln_a) / mean;
}

SprtBehaviour sprt_behaviour(const SprtDesign& design, double loss, std::uint64_t most_reports) {
  assert(loss >= 0 && loss <= 1);
  constexpr double kNegligible = 1e-12;
  const SprtLines lines = sprt_lines(design);
  Undecided undecided;
  SprtBehaviour out{0, 0, 0, 1};
  for (std::uint64_t n = 1; n <= most_reports && out.undecided > kNegligible; ++n) {
    out.expected_reports += out.undecided;
    undecided.report(loss);
    const double drift = lines.slope * static_cast<double>(n);
    out.passed += undecided.take_up_to(lines.intercept_low + drift);
    out.failed += undecided.take_from(lines.intercept_high + drift);
    out.undecided = undecided.total();
  }
  return out;
}

}  // namespace fieldfare::stats
