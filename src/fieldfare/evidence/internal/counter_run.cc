// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/evidence/internal/counter_run.h"

#include <algorithm>
#include <bit>
#include <cassert>
#include <cmath>

namespace fieldfare::evidence::internal {
namespace {

constexpr std::int64_t kLeastRepeatWindowNs = 60'000'000'000;

/// Retries of a link layer come within a second (common practice), however fast
/// the counter runs.
constexpr std::int64_t kShortestRepeatWindowNs = 1'000'000'000;

/// Counter and clock agree to half a number and 2 % of the steps between: the
/// pace is known to about that from a few steps.
constexpr double kHalfNumber = 0.5;
constexpr double kPaceError = 0.02;

/// A counter ran ahead of the clock where it went this many times, and by this
/// many numbers, further than the clock allows.
constexpr double kRanAheadTimes = 3;
constexpr double kRanAheadBy = 50;

/// Late reports from before the first one heard are taken this far back.
constexpr std::uint64_t kBeforeFirst = 3;

double tolerance(const Pace::Estimate& pace, double steps) {
  return kHalfNumber + kPaceError * steps + std::min(pace.spread, kHalfNumber);
}

/// Wider than tolerance(): some beats off, or a pace that has just changed.
double near_tolerance(double steps) { return 2 + 0.25 * steps; }

}  // namespace

void CounterRun::start(std::uint32_t sequence, std::int64_t time_ns, bool clocked) {
  assert(!started_);
  started_ = true;
  most_sent_ = std::max(most_sent_, sequence);
  first_ = head_ = settled_ = sequence;
  head_time_ns_ = time_ns;
  head_clocked_ = clocked;
  if (slots_.empty()) slots_.resize(16);
  std::fill(slots_.begin(), slots_.end(), Slot{});
  slot(head_).first_ns = time_ns;
}

void CounterRun::end() {
  if (!started_) return;
  expected_before_ = expected();
  settle_before(head_ + 1);
  losses_.end_run();
  started_ = false;
}

bool CounterRun::heard(std::uint64_t number) const {
  return number >= first_ && number <= head_ && head_ - number < slots_.size() &&
         slot(number).first_ns != kUnheard;
}

bool CounterRun::mark_link(std::uint64_t number, unsigned link) {
  // The 64th link and all after it share a bit: a report heard by more receivers
  // than that may count a further hearing as a duplicate.
  const std::uint64_t bit = std::uint64_t{1} << std::min(link, 63U);
  Slot& at = slot(number);
  const bool before = (at.links & bit) != 0;
  at.links |= bit;
  return before;
}

std::optional<Pace::Estimate> CounterRun::pace() const {
  if (auto measured = pace_.estimate()) return measured;
  if (!facts_.interval) return std::nullopt;
  return Pace::Estimate{static_cast<double>(facts_.interval->ns), 0.05, true};
}

std::int64_t CounterRun::repeat_window_ns() const {
  const auto known = pace();
  const auto three_steps = known ? static_cast<std::int64_t>(3 * known->step_ns) : 0;
  const std::int64_t window = std::max(kLeastRepeatWindowNs, three_steps);
  if (!known || !width_known()) return window;
  const double half_turn_ns = static_cast<double>(modulus(0)) / 2 * known->step_ns;
  if (half_turn_ns >= static_cast<double>(window)) return window;
  return std::max(kShortestRepeatWindowNs, static_cast<std::int64_t>(half_turn_ns));
}

/// The values the counter can take. Where its width isn't known, the smallest
/// usual one that holds every value so far.
std::uint64_t CounterRun::modulus(std::uint32_t sequence) const {
  if (facts_.sequence_bits) return std::uint64_t{1} << *facts_.sequence_bits;
  if (wrapped_bits_ != 0) return std::uint64_t{1} << wrapped_bits_;
  const std::uint32_t most = std::max(most_sent_, sequence);
  for (const unsigned bits : {8U, 16U}) {
    if (most < (std::uint64_t{1} << bits)) return std::uint64_t{1} << bits;
  }
  return std::uint64_t{1} << 32U;
}

/// The time from one number to the next over the last numbers still in the
/// slots, where that agrees with the latest pace; else the latest pace.
double CounterRun::long_step_ns(double short_step_ns) const {
  const std::uint64_t span = std::min<std::uint64_t>(head_ - first_, slots_.size() - 1);
  for (std::uint64_t number = head_ - span; number + 8 < head_; ++number) {
    if (slot(number).first_ns == kUnheard) continue;
    const auto elapsed = static_cast<double>(head_time_ns_ - slot(number).first_ns);
    const double step = elapsed / static_cast<double>(head_ - number);
    constexpr double kAgree = 0.02;
    return std::abs(step - short_step_ns) <= kAgree * short_step_ns ? step : short_step_ns;
  }
  return short_step_ns;
}

Relation CounterRun::relate_ahead(std::uint32_t sequence, std::int64_t elapsed_ns,
                                  bool clocked) const {
  const std::uint64_t values = modulus(sequence);
  const std::uint64_t forward = (sequence - head_) & (values - 1);
  const bool must_wrap = (head_ & (values - 1)) + forward >= values || forward == 0;
  const std::uint64_t least = forward == 0 ? values : forward;
  const Relation foreign{
      .kind = Relation::Kind::foreign, .number = head_ + least, .above = !must_wrap};
  const std::uint8_t wraps_bits =
      must_wrap ? static_cast<std::uint8_t>(std::countr_zero(values)) : std::uint8_t{0};
  const auto ahead = [&](std::uint64_t steps) {
    return Relation{.kind = Relation::Kind::ahead,
                    .number = head_ + steps,
                    .near_clock = true,
                    .wraps_bits = wraps_bits};
  };
  const auto known = pace();
  const bool by_beat = known && known->regular;
  if (must_wrap && !by_beat) {
    // Without a beat to go by only a few numbers across a known turn are sure.
    const bool sure = width_known() && least <= std::min<std::uint64_t>(16, values / 8);
    return sure ? ahead(least) : foreign;
  }
  if (!known) return static_cast<double>(least) <= kRanAheadBy ? ahead(least) : foreign;

  const double by_clock = static_cast<double>(elapsed_ns) / long_step_ns(known->step_ns);
  std::uint64_t steps = least;
  if (by_beat && width_known() && by_clock > static_cast<double>(least)) {
    const auto turns =
        std::llround((by_clock - static_cast<double>(least)) / static_cast<double>(values));
    const std::uint64_t turned = least + static_cast<std::uint64_t>(turns) * values;
    if (std::abs(static_cast<double>(turned) - by_clock) <= tolerance(*known, by_clock)) {
      steps = turned;
    }
  }
  const double excess = static_cast<double>(steps) - by_clock;
  const bool ran_ahead =
      static_cast<double>(steps) > kRanAheadTimes * by_clock && excess > kRanAheadBy;
  const bool agrees = by_beat && std::abs(excess) <= tolerance(*known, by_clock);
  const bool must_agree = must_wrap && (clocked || !width_known() || least >= values / 2);
  if (!agrees && (must_agree || ran_ahead)) return foreign;
  Relation relation = ahead(steps);
  if (by_beat) {
    relation.mismatch = std::abs(excess);
    relation.by_clock = agrees;
    relation.near_clock = agrees || !clocked || relation.mismatch <= near_tolerance(by_clock);
  }
  return relation;
}

std::optional<Relation> CounterRun::relate_at_once(std::uint32_t sequence,
                                                   std::int64_t time_ns) const {
  const std::int64_t elapsed = time_ns - head_time_ns_;
  const std::uint64_t values = modulus(sequence);
  const std::uint64_t sent = head_ & (values - 1);
  // Going round takes a look at the clock.
  if (sequence < sent) return std::nullopt;
  const std::uint64_t forward = sequence - sent;
  if (forward == 0 && elapsed <= std::min(kLeastRepeatWindowNs, repeat_window_ns())) {
    return Relation{.kind = Relation::Kind::repeat, .number = head_};
  }
  constexpr std::uint64_t kFew = 32;
  if (forward == 0 || forward > kFew) return std::nullopt;
  // So soon that the counter can't have gone round meanwhile.
  if (elapsed >= static_cast<std::int64_t>(kFew) * pace_.shortest_ns()) return std::nullopt;
  return Relation{.kind = Relation::Kind::ahead, .number = head_ + forward};
}

Relation CounterRun::relate(std::uint32_t sequence, std::int64_t time_ns, bool clocked) const {
  assert(started_);
  const std::uint64_t values = modulus(sequence);
  const std::uint64_t back = (head_ - sequence) & (values - 1);
  const std::uint64_t reach = std::min(slots_.size(), values / 2);
  if (back < reach && back <= head_) {
    const std::uint64_t number = head_ - back;
    if (heard(number) && time_ns - slot(number).first_ns <= repeat_window_ns()) {
      return {.kind = Relation::Kind::repeat, .number = number};
    }
  }
  const Relation ahead = relate_ahead(sequence, time_ns - head_time_ns_, clocked && head_clocked_);
  if (ahead.kind == Relation::Kind::ahead && (ahead.by_clock || back >= reach)) return ahead;
  if (back == 0) {
    return {.kind = clocked ? Relation::Kind::same : Relation::Kind::repeat, .number = head_};
  }
  if (back < reach && back <= head_) {
    const std::uint64_t number = head_ - back;
    // Deliveries are repeated long after the reports.
    if (!clocked && heard(number)) return {.kind = Relation::Kind::repeat, .number = number};
    const bool in_run = number >= first_ && !heard(number);
    const bool just_before =
        number < first_ && first_ - number <= kBeforeFirst && head_ - number < slots_.size();
    if (in_run || just_before) return {.kind = Relation::Kind::hole, .number = number};
  }
  return ahead;
}

std::optional<double> CounterRun::follows(std::uint32_t earlier, std::uint32_t later,
                                          std::int64_t elapsed_ns, bool clocked) const {
  const std::uint64_t values = modulus(std::max(earlier, later));
  const std::uint64_t forward = (later - std::uint64_t{earlier}) & (values - 1);
  if (forward == 0 || forward >= values / 2) return std::nullopt;
  const auto known = pace();
  if (!known || !known->regular || !clocked) {
    if (static_cast<double>(forward) > kRanAheadBy) return std::nullopt;
    return 0.0;
  }
  const double by_clock = static_cast<double>(elapsed_ns) / known->step_ns;
  const double mismatch = std::abs(static_cast<double>(forward) - by_clock);
  if (mismatch > near_tolerance(by_clock)) return std::nullopt;
  return mismatch;
}

void CounterRun::make_room(std::uint64_t numbers) {
  std::size_t size = slots_.size();
  while (size < kSlots && size < numbers) size *= 2;
  if (size == slots_.size()) return;
  std::vector<Slot> larger(size);
  for (std::uint64_t number = settled_; number <= head_; ++number) {
    larger[number & (size - 1)] = slot(number);
  }
  slots_ = std::move(larger);
}

void CounterRun::settle_before(std::uint64_t number) {
  const std::uint64_t end = std::min(number, head_ + 1);
  for (; settled_ < end; ++settled_) {
    Slot& at = slot(settled_);
    if (at.first_ns == kUnheard) {
      losses_.missed(1);
    } else {
      losses_.heard(at.first_ns);
    }
    at = Slot{};
  }
  if (number > settled_) {
    losses_.missed(number - settled_);
    settled_ = number;
  }
}

void CounterRun::advance(const Relation& ahead, std::int64_t time_ns, bool clocked) {
  const std::uint64_t number = ahead.number;
  assert(number > head_);
  const std::uint64_t steps = number - head_;
  if (number - settled_ >= slots_.size()) {
    make_room(number - settled_ + 1);
    if (number - settled_ >= slots_.size()) settle_before(number - slots_.size() + 1);
  }
  // The width is learned from a wrap that the clock bears out.
  if (wrapped_bits_ == 0) wrapped_bits_ = ahead.wraps_bits;
  if (clocked && head_clocked_) pace_.add(time_ns - head_time_ns_, steps);
  head_clocked_ = clocked;
  head_ = number;
  head_time_ns_ = time_ns;
  slot(number).first_ns = time_ns;
}

void CounterRun::fill(std::uint64_t number, std::int64_t time_ns) {
  if (number < first_) {
    make_room(head_ - number + 1);
    first_ = settled_ = std::min(number, settled_);
  }
  slot(number).first_ns = time_ns;
}

}  // namespace fieldfare::evidence::internal
