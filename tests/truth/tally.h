// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "adapter.h"
#include "generator.h"
#include "yardstick.h"

namespace fieldfare::truth {

/// A named group of logs that differ in their seeds only, and what is asked of
/// their judgement.
struct Study {
  std::string name;  ///< words joined by - and /
  Setting setting;
  bool asks_delivery = false;
  bool asks_interval = false;  ///< coverage, and width where jitter is of one kind
  bool asks_counts = false;    ///< reports, hearings, duplicates, missed
  bool asks_strays = false;

  bool has_restarts() const;
};

/// A measured share (or median) and the limits it has to keep, if any.
struct Figure {
  std::string measure;  ///< figures of one measure have the same limits, or none
  std::string study;
  double value = 0;
  std::string unit;
  std::uint64_t hits = 0;
  std::uint64_t trials = 0;
  /// Of hits / trials; absent where the figure is only reported. A median is at
  /// most x where at least half of the trials are: hits then counts those.
  std::optional<Limits> limits;

  /// Taken at its face value, without allowance for chance.
  bool holds() const;
  /// Allowing for chance: see plausible(). True where nothing was tried.
  bool plausible_at(double false_alarm) const;
};

/// Counts how often the judgement of a study's logs agrees with their truth.
///
/// A restart or change is matched by its instant: a restart by the first hearing
/// afterwards, to a millisecond; a change within 20 heard reports. A judged
/// restart where there is a true one that cannot be identified is neither right
/// nor wrong.
class Tally {
 public:
  explicit Tally(const Study& study);

  void add(const Log& log, const Judged& judged);

  /// The judgement of the same log up to its 20th heard report after the change.
  void add_short(const Log& log, const Judged& judged);

  std::vector<Figure> figures() const;

 private:
  struct Share {
    std::uint64_t hits = 0;
    std::uint64_t trials = 0;
    void count(bool hit);
  };

  void add_delivery(const Truth& truth, const Estimated* estimate);
  void add_interval(const Truth& truth, const Estimated* estimate);
  void add_counts(const Truth& truth, const Judged& judged, bool restarts_agree);
  bool add_restarts(const Truth& truth, const Judged& judged);
  void add_changes(const Truth& truth, const Judged& judged);

  const Study& study_;
  LossPattern pattern_;
  Share delivery_;
  Share interval_;
  Share counts_;
  Share missed_;
  Share strays_;
  Share recall_;
  Share precision_;
  Share restart_invented_;
  Share change_found_;
  Share change_found_early_;
  Share change_invented_;
  std::vector<double> delivery_widths_;  ///< over the asymptotic one
  std::vector<double> interval_widths_;
};

/// The log up to its 20th heard report after its (one) change of interval.
Log shortened(const Log& log);

}  // namespace fieldfare::truth
