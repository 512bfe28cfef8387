// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "fieldfare/base/instant.h"
#include "fieldfare/judge/first_day.h"

// The beat of a node from a handful of reports, some of them provoked. Rougher than
// the cadence of evidence/, which wants dozens, and good enough to tell a report
// that somebody caused from one that was due.
namespace fieldfare::judge {

/// How a counter went from the report before.
enum class StepKind : std::uint8_t {
  first,       ///< nothing before to compare with
  unnumbered,  ///< one of the two has no number
  one,
  skipped,  ///< forwards by more than one, as where reports were lost
  still,    ///< the same number again
  restart,  ///< back at its start
  jump      ///< anything else
};

struct CounterStep {
  StepKind kind = StepKind::first;
  std::int64_t by = 0;    ///< new number less old one; of `one` and `skipped` modulo the width
  bool at_start = false;  ///< the number is one that a counter has shortly after its start
};

/// Steps forward of so many numbers at most are taken for lost reports: an hour of a
/// node that speaks every minute.
inline constexpr std::int64_t kMostSkipped = 64;

/// One for every report. A number is near its start up to three above it: a report or
/// two after a restart is easily lost. Where the start isn't known, it is taken to be 0.
/// Where the width isn't known, it is the least of 8, 16, 32 and 64 bits that holds all.
std::vector<CounterStep> counter_steps(const FirstNode& node);

struct FirstBeat {
  std::vector<CounterStep> steps;
  /// Reports clearly ahead of the beat, which is more than a late or lost one can be.
  std::vector<bool> is_extra;
  /// Between two reports sent: the median of the time per step of the counter, restarts
  /// and what was heard while somebody provoked it left out; else the terms' interval.
  std::optional<Duration> interval;
  bool is_measured = false;          ///< from its reports
  Duration tolerance;                ///< farther from the beat than that is off it
  std::optional<Duration> off_beat;  ///< of the newest report, where one was due
  std::optional<Instant> next;       ///< the next beat after the newest report
};

/// `provoked`: when somebody said that he provokes this node, rising.
FirstBeat first_beat(const FirstNode& node, std::span<const Instant> provoked);

/// For every node of the day, with the provocations whose digits fit it.
std::vector<FirstBeat> first_beats(const FirstDay& day);

}  // namespace fieldfare::judge
