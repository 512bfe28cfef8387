// SPDX-License-Identifier: Apache-2.0
#include <algorithm>

#include "fieldfare/base/number_text.h"
#include "fieldfare/calc/internal/definition.h"
#include "fieldfare/stats/comparison.h"
#include "fieldfare/stats/ewma.h"
#include "fieldfare/stats/line.h"
#include "fieldfare/stats/outlier.h"
#include "fieldfare/stats/robust.h"

namespace fieldfare::calc {
namespace {

Outcome ewma(const Inputs& in) {
  std::vector<double> z = stats::ewma(in.series("x"), in.number("lambda"), in.number("start"));
  const double last = z.back();
  return Worked{
      {{"last", last}, {"series", std::move(z)}},
      {"in the long run it strays by " +
       number_text(stats::ewma_asymptotic_sd(in.number("lambda"))) + " standard deviations of x"}};
}

Outcome robust_mean(const Inputs& in) {
  const stats::RobustMean robust = stats::robust_mean(in.series("x"));
  Worked out{{{"mean", robust.mean}, {"sd", robust.sd}}};
  if (robust.sd == 0)
    out.notes.emplace_back("half of the values or more are equal: no spread seen");
  return out;
}

Outcome grubbs(const Inputs& in) {
  const auto x = in.series("x");
  const double alpha = in.number("alpha");
  const stats::GrubbsTest test = stats::grubbs(x, alpha);
  return Worked{{{"statistic", test.statistic},
                 {"critical", test.critical},
                 {"outlier", test.outlier ? Value{x[*test.outlier]} : Value{}}},
                {"two-sided; one-sided, where only one end could be wrong, the critical value is " +
                     number_text(stats::grubbs_critical(x.size(), alpha, stats::Sides::one)),
                 "meant for normal values with at most one outlier"}};
}

/// Says what keeps x and y from having a line; empty where nothing does.
std::string no_line(std::span<const double> x, std::span<const double> y) {
  // Smaller differences than this have squares that vanish.
  constexpr double kLeastSpread = 1e-100;
  if (x.size() != y.size()) {
    return "`x` and `y` must be equally long, not " + std::to_string(x.size()) + " and " +
           std::to_string(y.size());
  }
  const auto [low, high] = std::minmax_element(x.begin(), x.end());
  return *high - *low < kLeastSpread ? "the values of `x` are all equal: there is no slope" : "";
}

Outcome fit_line(const Inputs& in) {
  const auto x = in.series("x"), y = in.series("y");
  if (std::string why = no_line(x, y); !why.empty()) return Failure{why};
  const stats::LineFit fit = stats::fit_line(x, y);
  Worked out{{{"intercept", fit.intercept},
              {"slope", fit.slope},
              {"intercept_sd", fit.intercept_sd},
              {"slope_sd", fit.slope_sd},
              {"residual_sd", fit.residual_sd}}};
  if (x.size() == 2) out.notes.emplace_back("two points leave no residual: the errors are unknown");
  return out;
}

Outcome theil_sen(const Inputs& in) {
  const auto x = in.series("x"), y = in.series("y");
  if (std::string why = no_line(x, y); !why.empty()) return Failure{why};
  if (x.size() > stats::kMostTheilSenPoints) {
    return Failure{"`x` must hold at most " + std::to_string(stats::kMostTheilSenPoints) +
                   " values: all pairs are formed"};
  }
  const stats::Line line = stats::theil_sen(x, y);
  return Worked{{{"intercept", line.intercept}, {"slope", line.slope}}};
}

Outcome en_number(const Inputs& in) {
  const stats::Uncertain x{in.number("x"), in.number("u_x")};
  const stats::Uncertain reference{in.number("ref"), in.number("u_ref")};
  if (x.expanded_uncertainty == 0 && reference.expanded_uncertainty == 0) {
    return Failure<std::string>{"`u_x` and `u_ref` must not both be 0"};
  }
  return Worked{{{"en", stats::en_number(x, reference)}},
                {"uncertainties are expanded ones (coverage factor 2); from -1 to 1 they agree"}};
}

std::vector<Key> line_keys() {
  return {series("x", 2, "where"), series("y", 2, "the values there, as many")};
}

}  // namespace

std::vector<Definition> series_calculators() {
  return {
      {{.name = "ewma",
        .summary = "exponentially weighted moving average",
        .keys = {series("x", 1, "the values in their order"),
                 number("lambda", above_to(0, 1), "weight of the newest value"),
                 number("start", {}, "value before the first")},
        .source = "S. W. Roberts, Technometrics 1 (1959); NIST/SEMATECH e-Handbook 6.3.2.4",
        .example = "x=52,47,53,49.3,50.1 lambda=0.3 start=50"},
       ewma},
      {{.name = "robust-mean",
        .summary = "mean and standard deviation that wild values cannot carry off",
        .keys = {series("x", 2, "the values")},
        .source = "ISO 13528, Algorithm A (annex C.3.1)",
        .example = "x=10.1,10.2,9.9,10.0,10.3,14.7"},
       robust_mean},
      {{.name = "grubbs",
        .summary = "is the farthest value an outlier, on either side",
        .keys = {series("x", 3, "the values"),
                 with_default(number("alpha", between(0, 1), "risk of calling a good one wrong"),
                              "0.05")},
        .source = "F. E. Grubbs, Technometrics 11 (1969); NIST/SEMATECH e-Handbook 1.3.5.17.1",
        .example = "x=199.31,199.53,200.19,200.82,201.92,201.95,202.18,245.57"},
       grubbs},
      {{.name = "fit-line",
        .summary = "least squares line with its standard errors",
        .keys = line_keys(),
        .source = "Draper & Smith, Applied Regression Analysis; NIST StRD Norris as the check",
        .example = "x=1,2,3,4,10,12,18 y=9,15,19,20,45,55,78"},
       fit_line},
      {{.name = "theil-sen",
        .summary = "line by medians: wild points cannot carry it off",
        .keys = line_keys(),
        .source = "P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379-1389",
        .example = "x=1,2,3,4,10,12,18 y=9,15,19,20,45,55,78"},
       theil_sen},
      {{.name = "en-number",
        .summary = "do a value and a reference agree within their uncertainties",
        .keys = {number("x", {}, "the value"),
                 number("u_x", at_least(0), "its expanded uncertainty"),
                 number("ref", {}, "the reference value"),
                 number("u_ref", at_least(0), "its expanded uncertainty")},
        .source = "ISO 13528 and ISO/IEC 17043",
        .example = "x=10.05 u_x=0.03 ref=10 u_ref=0.04"},
       en_number},
  };
}

}  // namespace fieldfare::calc
