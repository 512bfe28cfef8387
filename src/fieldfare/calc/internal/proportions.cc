// SPDX-License-Identifier: Apache-2.0
#include <cmath>

#include "fieldfare/base/number_text.h"
#include "fieldfare/calc/internal/definition.h"
#include "fieldfare/stats/cusum.h"
#include "fieldfare/stats/proportion.h"
#include "fieldfare/stats/sprt.h"

namespace fieldfare::calc {
namespace {

constexpr auto kMostTrials = static_cast<double>(stats::kMostTrials);

using IntervalOf = stats::Interval (*)(std::uint64_t k, std::uint64_t n, double confidence);

std::vector<Key> proportion_keys() {
  return {whole("k", from_to(0, kMostTrials), "how many of the trials succeeded"),
          whole("n", from_to(1, kMostTrials), "the number of trials"),
          with_default(number("confidence", between(0, 1), "wanted coverage"), "0.95")};
}

Outcome interval(const Inputs& in, IntervalOf interval_of) {
  if (in.whole("k") > in.whole("n")) return Failure<std::string>{"`k` must not exceed `n`"};
  const stats::Interval found = interval_of(in.whole("k"), in.whole("n"), in.number("confidence"));
  return Worked{{{"low", found.low}, {"high", found.high}},
                {"meant for independent trials; losses in bursts need a wider interval"}};
}

std::string four_digits(double value) { return number_text(std::round(value * 1e4) / 1e4); }

/// What the recursion says beside Wald's approximation, where it is short enough.
std::string exact_sprt_note(const stats::SprtDesign& design) {
  constexpr double kMostFollowed = 5000;
  const double longest = stats::sprt_expected_reports(design, stats::sprt_lines(design).slope);
  if (longest > kMostFollowed) return "too long to be followed exactly; Wald's approximation only";
  const auto good = stats::sprt_behaviour(design, design.loss_good);
  const auto bad = stats::sprt_behaviour(design, design.loss_bad);
  return "exactly, by recursion: " + four_digits(good.expected_reports) + " and " +
         four_digits(bad.expected_reports) + " reports, risks " + four_digits(good.failed) +
         " and " + four_digits(bad.passed);
}

Outcome sprt(const Inputs& in) {
  const stats::SprtDesign design{in.number("loss_good"), in.number("loss_bad"), in.number("alpha"),
                                 in.number("beta")};
  if (design.loss_good >= design.loss_bad) {
    return Failure<std::string>{"`loss_good` must be below `loss_bad`"};
  }
  if (design.alpha + design.beta >= 1) {
    return Failure<std::string>{"`alpha` and `beta` must add up to less than 1"};
  }
  const stats::SprtLines lines = stats::sprt_lines(design);
  return Worked{{{"slope", lines.slope},
                 {"intercept_low", lines.intercept_low},
                 {"intercept_high", lines.intercept_high},
                 {"expected_reports_good", stats::sprt_expected_reports(design, design.loss_good)},
                 {"expected_reports_bad", stats::sprt_expected_reports(design, design.loss_bad)}},
                {exact_sprt_note(design), "meant for independent losses; bursts raise both risks"}};
}

Outcome cusum_arl(const Inputs& in) {
  const stats::CusumDesign design{in.number("k"), in.number("h")};
  const bool two_sided = in.whole("sided") == 2;
  const double shift = in.number("shift");
  return Worked{{{"arl", two_sided ? stats::cusum_arl_two_sided(design, shift)
                                   : stats::cusum_arl_one_sided(design, shift)}},
                {"independent normal values, started at zero; all in standard deviations"}};
}

}  // namespace

std::vector<Definition> proportion_calculators() {
  return {
      {{.name = "wilson",
        .summary = "score interval for a proportion",
        .keys = proportion_keys(),
        .source = "E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209-212",
        .example = "k=81 n=263"},
       [](const Inputs& in) { return interval(in, stats::wilson); }},
      {{.name = "clopper-pearson",
        .summary = "interval for a proportion that never covers less than asked",
        .keys = proportion_keys(),
        .source = "C. J. Clopper & E. S. Pearson, Biometrika 26 (1934) 404-413",
        .example = "k=81 n=263"},
       [](const Inputs& in) { return interval(in, stats::clopper_pearson); }},
      {{.name = "sprt",
        .summary = "lines of the sequential test on lost reports, and how long it takes",
        .keys = {number("loss_good", between(0, 1), "ratio of lost reports that is good"),
                 number("loss_bad", between(0, 1), "ratio of lost reports that is bad"),
                 with_default(number("alpha", between(0, 1), "risk of failing a good node"),
                              "0.05"),
                 with_default(number("beta", between(0, 1), "risk of passing a bad node"), "0.05")},
        .source = "A. Wald, Sequential Analysis (1947)",
        .example = "loss_good=0.05 loss_bad=0.1"},
       sprt},
      {{.name = "cusum-arl",
        .summary = "mean number of values until a CUSUM speaks",
        .keys = {number("k", from_to(0, 10), "reference value, in standard deviations"),
                 number("h", above_to(0, stats::kLargestCusumInterval),
                        "decision interval, in standard deviations"),
                 with_default(number("shift", from_to(-20, 20),
                                     "how far the mean is off, in standard deviations"),
                              "0"),
                 with_default(whole("sided", from_to(1, 2), "1 watches upwards only, 2 both ways"),
                              "2")},
        .source = "E. S. Page, Biometrika 41 (1954) 100-115; NIST/SEMATECH e-Handbook 6.3.2.3",
        .example = "k=0.5 h=5"},
       cusum_arl},
  };
}

}  // namespace fieldfare::calc
