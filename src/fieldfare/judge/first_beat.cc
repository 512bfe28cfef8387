// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/judge/first_beat.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include "fieldfare/judge/suffixes.h"

namespace fieldfare::judge {
namespace {

/// Nobody waits longer at a desk; keeps products of intervals in range.
constexpr Duration kLongestInterval{366LL * 24 * 3600 * 1'000'000'000};
constexpr std::uint64_t kNearStart = 3;
/// A step over the counter's turn is one as long as no more are lost than that; else
/// a small number after a large one is a restart.
constexpr std::int64_t kMostLostAtTurn = 3;

int width_of(const FirstNode& node) {
  if (node.terms.sequence_bits) return std::clamp(*node.terms.sequence_bits, 1, 64);
  std::uint64_t most = 0;
  for (const FirstReport& report : node.reports) most = std::max(most, report.sequence.value_or(0));
  for (const int bits : {8, 16, 32}) {
    if (most >> bits == 0) return bits;
  }
  return 64;
}

struct Counter {
  std::uint64_t mask;
  std::uint64_t start;

  bool near_start(std::uint64_t number) const { return ((number - start) & mask) <= kNearStart; }

  CounterStep step(std::uint64_t from, std::uint64_t to) const {
    const bool at_start = near_start(to);
    const std::uint64_t forwards = (to - from) & mask;
    const auto plain = static_cast<std::int64_t>(to - from);
    if (forwards == 0) return {StepKind::still, 0, at_start};
    if (forwards == 1) return {StepKind::one, 1, at_start};
    const bool turned = to < from;
    const std::int64_t most = turned && at_start ? kMostLostAtTurn : kMostSkipped;
    if (forwards <= static_cast<std::uint64_t>(most)) {
      return {StepKind::skipped, static_cast<std::int64_t>(forwards), at_start};
    }
    return {turned && at_start ? StepKind::restart : StepKind::jump, plain, at_start};
  }
};

bool in_window(Instant at, std::span<const Instant> provoked) {
  const auto said = std::lower_bound(provoked.begin(), provoked.end(), at - kProvokedAfter);
  return said != provoked.end() && *said <= at + kProvokedBefore;
}

/// Time per step of the counter.
struct Pace {
  std::int64_t ns;
  std::int64_t spread_ns;  ///< as a standard deviation, from the median deviation
  std::size_t steps;
};

std::optional<Pace> pace_of(std::vector<std::int64_t> gaps_ns) {
  if (gaps_ns.empty()) return std::nullopt;
  const auto middle = gaps_ns.begin() + static_cast<std::ptrdiff_t>((gaps_ns.size() - 1) / 2);
  std::nth_element(gaps_ns.begin(), middle, gaps_ns.end());
  const std::int64_t median = *middle;
  if (median <= 0 || median > kLongestInterval.ns) return std::nullopt;
  for (std::int64_t& gap : gaps_ns) gap = std::abs(gap - median);
  std::nth_element(gaps_ns.begin(), middle, gaps_ns.end());
  // 1.4826: from a normal distribution's median deviation to its standard deviation.
  const auto spread = static_cast<std::int64_t>(1.4826 * static_cast<double>(*middle));
  return Pace{median, spread, gaps_ns.size()};
}

std::optional<Pace> measured_pace(const FirstNode& node, std::span<const CounterStep> steps,
                                  std::span<const Instant> provoked) {
  std::vector<std::int64_t> all;
  std::vector<std::int64_t> clean;
  for (std::size_t i = 1; i < node.reports.size(); ++i) {
    const CounterStep& step = steps[i];
    const bool counts = step.kind == StepKind::one || step.kind == StepKind::skipped;
    if (!counts && step.kind != StepKind::unnumbered) continue;
    const Instant before = node.reports[i - 1].at;
    const Instant at = node.reports[i].at;
    const std::int64_t gap = (at - before).ns / std::max<std::int64_t>(1, step.by);
    all.push_back(gap);
    if (!in_window(before, provoked) && !in_window(at, provoked)) clean.push_back(gap);
  }
  const auto own = pace_of(std::move(clean));
  if (own && own->steps >= 2) return own;
  // Of a fast node nearly all that is heard falls into somebody's provoking; what is
  // provoked is then too little of it to move the median, unless the steps say otherwise.
  constexpr std::size_t kEnough = 4;
  const auto any = pace_of(std::move(all));
  if (any && any->steps >= kEnough && any->spread_ns < any->ns / 8) return any;
  return own;
}

void set_interval(FirstBeat& beat, const FirstNode& node, const std::optional<Pace>& pace) {
  if (pace) {
    beat.interval = Duration{pace->ns};
    beat.is_measured = true;
  } else if (node.terms.interval && *node.terms.interval > Duration{0} &&
             *node.terms.interval <= kLongestInterval) {
    beat.interval = node.terms.interval;
  }
  if (!beat.interval) return;
  const std::int64_t ns = beat.interval->ns;
  // Common practice: timers without a crystal keep to some per cents. Steps that were
  // seen say it better: four times their spread, and not below what arrival adds.
  constexpr std::int64_t kArrivalNs = 250'000'000;
  std::int64_t tolerance = ns / 10;
  constexpr std::size_t kSeen = 4;
  if (pace && pace->steps >= kSeen) {
    tolerance = std::max({4 * pace->spread_ns, ns / 50, kArrivalNs});
  }
  beat.tolerance = Duration{std::min(tolerance, ns / 4)};
}

/// Follows the beat from report to report. An extra report either sets the beat anew
/// or leaves it alone: what follows it may be on either.
class Walk {
 public:
  explicit Walk(const FirstBeat& beat)
      : interval_ns_{beat.interval->ns}, tolerance_ns_{beat.tolerance.ns} {}

  void begin(Instant at) { on_beat_ = last_ = at; }

  struct Place {
    Duration off;
    bool is_extra = false;
  };

  Place take(Instant at, const CounterStep& step) {
    const std::int64_t gap = (at - last_).ns;
    const std::int64_t steps =
        step.kind == StepKind::unnumbered ? nearest(gap) : std::max<std::int64_t>(1, step.by);
    const std::int64_t off = gap - steps * interval_ns_;
    last_ = at;
    if (std::abs(off) <= tolerance_for(steps)) return settle(at, off);
    const std::int64_t since = (at - on_beat_).ns;
    const std::int64_t beats = nearest(since);
    const std::int64_t off_old = since - beats * interval_ns_;
    if (std::abs(off_old) <= tolerance_for(beats)) return settle(at, off_old);
    if (off > 0) return settle(at, off);
    return {Duration{off}, true};
  }

  Instant next() const {
    const std::int64_t since = (last_ - on_beat_).ns;
    return on_beat_ + Duration{(since / interval_ns_ + 1) * interval_ns_};
  }

 private:
  std::int64_t nearest(std::int64_t gap_ns) const {
    return std::max<std::int64_t>(1, (gap_ns + interval_ns_ / 2) / interval_ns_);
  }
  /// A pace from a few steps is a per cent off, and more so over several.
  std::int64_t tolerance_for(std::int64_t steps) const {
    const double more = 0.01 * static_cast<double>(interval_ns_) * static_cast<double>(steps - 1);
    return std::min(tolerance_ns_ + static_cast<std::int64_t>(more), interval_ns_ / 4);
  }
  Place settle(Instant at, std::int64_t off) {
    on_beat_ = at;
    return {Duration{off}, false};
  }

  std::int64_t interval_ns_;
  std::int64_t tolerance_ns_;
  Instant on_beat_;
  Instant last_;
};

void follow(FirstBeat& beat, const FirstNode& node) {
  Walk walk{beat};
  for (std::size_t i = 0; i < node.reports.size(); ++i) {
    const Instant at = node.reports[i].at;
    const CounterStep& step = beat.steps[i];
    beat.off_beat.reset();
    if (step.kind == StepKind::one || step.kind == StepKind::skipped ||
        step.kind == StepKind::unnumbered) {
      const Walk::Place place = walk.take(at, step);
      beat.off_beat = place.off;
      beat.is_extra[i] = place.is_extra;
    } else {
      walk.begin(at);
    }
  }
  beat.next = walk.next();
}

}  // namespace

std::vector<CounterStep> counter_steps(const FirstNode& node) {
  const int bits = width_of(node);
  const std::uint64_t mask = ~std::uint64_t{0} >> (64 - bits);
  const Counter counter{mask, node.terms.starts_at.value_or(0) & mask};
  std::vector<CounterStep> steps(node.reports.size());
  for (std::size_t i = 0; i < node.reports.size(); ++i) {
    const auto number = node.reports[i].sequence;
    if (i == 0) {
      if (number) steps[i].at_start = counter.near_start(*number & mask);
      continue;
    }
    const auto before = node.reports[i - 1].sequence;
    if (number && before) {
      steps[i] = counter.step(*before & mask, *number & mask);
    } else {
      steps[i].kind = StepKind::unnumbered;
    }
  }
  return steps;
}

FirstBeat first_beat(const FirstNode& node, std::span<const Instant> provoked) {
  FirstBeat beat;
  beat.steps = counter_steps(node);
  beat.is_extra.resize(node.reports.size());
  set_interval(beat, node, measured_pace(node, beat.steps, provoked));
  if (beat.interval && !node.reports.empty()) follow(beat, node);
  return beat;
}

std::vector<FirstBeat> first_beats(const FirstDay& day) {
  std::vector<std::vector<Instant>> provoked(day.nodes.size());
  const Suffixes suffixes{day.nodes};
  for (const Provocation& provocation : day.provocations) {
    for (const std::size_t node : suffixes.ending_in(provocation.digits)) {
      provoked[node].push_back(provocation.said);
    }
  }
  std::vector<FirstBeat> beats;
  beats.reserve(day.nodes.size());
  for (std::size_t i = 0; i < day.nodes.size(); ++i) {
    beats.push_back(first_beat(day.nodes[i], provoked[i]));
  }
  return beats;
}

}  // namespace fieldfare::judge
