// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/evidence/internal/cadence_fold.h"

#include <algorithm>
#include <cmath>

#include "fieldfare/stats/phase_noise.h"

namespace fieldfare::evidence::internal {

using Step = CadenceFold::Step;

namespace {

constexpr double kNanosecond = 1e-9;

/// Steps that must precede a change, and follow it, before it can be told.
constexpr std::size_t kStepsBefore = 6;
constexpr std::size_t kStepsAfter = 8;

/// Changes smaller than this are a clock's wander, not a setting: RC clocks move
/// by per cents with temperature.
constexpr double kLeastChange = 0.035;

/// ... and they must stand out of the noise by this many standard errors: the
/// test is made at every report, for years.
constexpr double kStandOut = 6;

/// The drift at which looking for a change is worth its time.
constexpr double kDriftToLook = 0.012;
constexpr double kDriftMemory = 12;

/// The pace of most steps: those within `reach` of their median; nothing where
/// more than one in five is not.
std::optional<Step> common_pace(const std::vector<Step>& steps, double reach) {
  std::vector<double> paces;
  paces.reserve(steps.size());
  for (const Step& step : steps) paces.push_back(step.pace());
  const auto middle = paces.begin() + static_cast<std::ptrdiff_t>(paces.size() / 2);
  std::nth_element(paces.begin(), middle, paces.end());
  Step sum{0, 0};
  std::size_t agreeing = 0;
  for (const Step& step : steps) {
    if (std::abs(step.pace() - *middle) > reach) continue;
    sum.ns += step.ns;
    sum.numbers += step.numbers;
    ++agreeing;
  }
  if (agreeing * 5 < steps.size() * 4) return std::nullopt;
  return sum;
}

}  // namespace

void SpreadSums::add(double steps_between, double excess) {
  pairs += 1;
  steps += steps_between;
  steps_squared += steps_between * steps_between;
  excess_s += excess;
  excess_steps += excess * steps_between;
  excess_squared += excess * excess;
}

double SpreadSums::mean_square(double offset_s) const {
  const double sum =
      excess_squared - 2 * offset_s * excess_steps + offset_s * offset_s * steps_squared;
  return std::max(sum, 0.0) / pairs;
}

/// The pace of the stretch so far.
double CadenceFold::base_ns() const {
  if (steps_ < kStepsBefore) return static_cast<double>(reference_ns_);
  return static_cast<double>(total_ns_) / static_cast<double>(total_steps_);
}

void CadenceFold::add(std::uint64_t number, std::int64_t time_ns) {
  const Point point{number, time_ns, broken_};
  broken_ = false;
  waiting_.push_back(point);
  if (waiting_.size() > 1 && !point.starts_segment && reference_ns_ != 0) {
    const Point& before = waiting_[waiting_.size() - 2];
    const double pace =
        static_cast<double>(time_ns - before.time_ns) / static_cast<double>(number - before.number);
    const double away = std::clamp(pace / base_ns() - 1, -0.5, 0.5);
    drift_ += (away - drift_) / kDriftMemory;
    if (std::abs(drift_) > kDriftToLook) look_for_change();
  }
  if (reference_ns_ == 0 && waiting_.size() > kStepsBefore) set_reference();
  if (waiting_.size() > kWaiting) count_oldest();
}

/// The reference pace is the median of the first steps.
void CadenceFold::set_reference() {
  std::vector<std::int64_t> paces;
  for (std::size_t i = 1; i < waiting_.size(); ++i) {
    if (!waiting_[i].starts_segment) paces.push_back(pace_between(waiting_[i - 1], waiting_[i]));
  }
  if (paces.size() < 3) return;
  const auto middle = paces.begin() + static_cast<std::ptrdiff_t>(paces.size() / 2);
  std::nth_element(paces.begin(), middle, paces.end());
  reference_ns_ = std::max<std::int64_t>(*middle, 1);
}

std::int64_t CadenceFold::pace_between(const Point& from, const Point& to) {
  return (to.time_ns - from.time_ns) / static_cast<std::int64_t>(to.number - from.number);
}

void CadenceFold::look_for_change() {
  const auto split = best_split();
  if (split && is_change(*split)) change_at(*split);
}

/// The steps that end at the waiting reports from `from` up to, but not with, `to`.
std::vector<CadenceFold::Step> CadenceFold::steps(std::size_t from, std::size_t to) const {
  std::vector<Step> result;
  for (std::size_t i = std::max<std::size_t>(from, 1); i < to; ++i) {
    if (waiting_[i].starts_segment) continue;
    result.push_back({static_cast<double>(waiting_[i].time_ns - waiting_[i - 1].time_ns),
                      static_cast<double>(waiting_[i].number - waiting_[i - 1].number)});
  }
  return result;
}

/// Two paces that meet at the waiting report `at`; nothing where either side has no
/// common one. Steps further than `reach` from the rest are sleeps or delays.
std::optional<CadenceFold::Candidate> CadenceFold::split_at(std::size_t at, double reach) const {
  const std::vector<Step> before = steps(0, at + 1);
  // A step over several numbers may hold the change itself.
  const bool holds_change = waiting_[at + 1].number - waiting_[at].number > 1;
  const std::size_t start = at + (holds_change ? 1 : 0);
  const std::vector<Step> after = steps(start + 1, waiting_.size());
  if (after.size() < kStepsAfter || steps_ + before.size() < kStepsBefore) return std::nullopt;
  const auto new_pace = common_pace(after, reach);
  if (!new_pace) return std::nullopt;
  Step old{static_cast<double>(total_ns_), static_cast<double>(total_steps_)};
  if (!before.empty()) {
    const auto waiting_pace = common_pace(before, reach);
    if (!waiting_pace) return std::nullopt;
    old.ns += waiting_pace->ns;
    old.numbers += waiting_pace->numbers;
  }
  const Split split{
      .first_new = at + 1, .start = start, .old_ns = old.pace(), .new_ns = new_pace->pace()};
  double gain = 0;
  const auto prefers_new = [&](const Step& step) {
    return std::abs(step.pace() - split.old_ns) - std::abs(step.pace() - split.new_ns);
  };
  // Else a change that has just begun is found a report too early, by eight steps of
  // which the first is an old one.
  if (prefers_new(after.front()) <= 0) return std::nullopt;
  for (const Step& step : after) gain += prefers_new(step);
  for (const Step& step : before) gain -= prefers_new(step);
  return Candidate{split, gain};
}

/// Where among the waiting reports two paces explain the steps best.
std::optional<CadenceFold::Split> CadenceFold::best_split() const {
  const double spread = std::sqrt(near_.pairs > 0 ? near_.mean_square(0) : 0) / kNanosecond;
  const double reach = std::max(0.25 * base_ns(), kStandOut * spread);
  std::optional<Split> best;
  double best_gain = 0;
  for (std::size_t at = 0; at + kStepsAfter < waiting_.size(); ++at) {
    const auto candidate = split_at(at, reach);
    if (!candidate || candidate->gain <= best_gain) continue;
    best_gain = candidate->gain;
    best = candidate->split;
  }
  return best;
}

/// White noise and walk of the steps counted so far in this stretch, from how the
/// spread grows between one and kFar reports. With `caution` > 0 the walk is taken
/// as large as that many standard errors above its estimate.
PhaseNoise CadenceFold::noise(double pace_ns, double caution) const {
  if (near_.pairs == 0) return {};
  const double offset_s = (pace_ns - static_cast<double>(reference_ns_)) * kNanosecond;
  const double near = near_.mean_square(offset_s);
  const double near_steps = near_.steps / near_.pairs;
  if (far_.pairs < 2 * kFar) {
    // Too few to tell the two apart: for caution all of it may be walk.
    return caution > 0 ? PhaseNoise{near / 2, near / near_steps} : PhaseNoise{near / 2, 0};
  }
  const double far_steps = far_.steps / far_.pairs;
  const double independent = far_.pairs / static_cast<double>(kFar);
  const double far = far_.mean_square(offset_s) * (1 + caution * std::sqrt(2 / independent));
  const double walk = std::max(0.0, (far - near) / (far_steps - near_steps));
  return {.white_s2 = std::max(0.0, (near - walk * near_steps) / 2), .walk_s2 = walk};
}

/// The noise to hold a change against. Where too few steps are counted the waiting
/// ones `before` the change must do, and all of it may be walk.
PhaseNoise CadenceFold::cautious_noise(double pace_ns, const std::vector<Step>& before) const {
  constexpr double kCaution = 2;
  PhaseNoise spread = noise(pace_ns, kCaution);
  if (steps_ >= 2 * kStepsBefore) return spread;
  SpreadSums waiting;
  for (const Step& step : before) {
    waiting.add(step.numbers, (step.ns - step.numbers * pace_ns) * kNanosecond);
  }
  if (waiting.pairs > 0) {
    const double near = waiting.mean_square(0);
    spread.walk_s2 = std::max(spread.walk_s2, near / (waiting.steps / waiting.pairs));
    spread.white_s2 = std::max(spread.white_s2, near / 2);
  }
  return spread;
}

bool CadenceFold::is_change(const Split& split) const {
  const double change_ns = std::abs(split.new_ns - split.old_ns);
  if (change_ns < kLeastChange * split.old_ns) return false;
  const std::vector<Step> before = steps(0, split.first_new);
  const std::vector<Step> after = steps(split.start + 1, waiting_.size());
  // Each by itself must speak for the new pace; else a large change that has just
  // begun is taken for a small one that began earlier.
  const auto for_new = std::count_if(after.begin(), after.end(), [&](const Step& step) {
    return std::abs(step.pace() - split.new_ns) < std::abs(step.pace() - split.old_ns);
  });
  if (static_cast<std::size_t>(for_new) * 5 < after.size() * 4) return false;
  const auto numbers_in = [](const std::vector<Step>& steps) {
    double numbers = 0;
    for (const Step& step : steps) numbers += step.numbers;
    return numbers;
  };
  const double old_numbers = static_cast<double>(total_steps_) + numbers_in(before);
  const double new_numbers = numbers_in(after);
  const PhaseNoise spread = cautious_noise(split.old_ns, before);
  const auto variance = [&](double numbers) {
    return (2 * spread.white_s2 + numbers * spread.walk_s2) / (numbers * numbers);
  };
  const double error_s = std::sqrt(variance(old_numbers) + variance(new_numbers));
  // The fewer steps the spread is known from, the further may it be off.
  const auto known = static_cast<double>(steps_ + before.size());
  const double stand_out = kStandOut * (1 + 4 / std::sqrt(known));
  return change_ns * kNanosecond > stand_out * error_s;
}

void CadenceFold::change_at(const Split& split) {
  if (changes_.size() == kMostChanges) {
    changes_.erase(changes_.begin());
    ++earlier_changes_;
  }
  changes_.push_back({.at_ns = waiting_[split.first_new].time_ns,
                      .from_ns = static_cast<std::int64_t>(split.old_ns),
                      .to_ns = static_cast<std::int64_t>(split.new_ns)});
  waiting_.erase(waiting_.begin(), waiting_.begin() + static_cast<std::ptrdiff_t>(split.start));
  waiting_.front().starts_segment = true;
  reference_ns_ = static_cast<std::int64_t>(split.new_ns);
  drift_ = 0;
  last_.reset();
  total_ns_ = 0;
  total_steps_ = steps_ = broken_beats_ = 0;
  near_ = far_ = {};
  behind_.clear();
  blocks_.clear();
  block_capacity_ = 1;
}

/// A report far from the beat whose successor is on it again: somebody provoked
/// it, or it was delayed.
bool CadenceFold::off_beat(const Point& point) const {
  if (waiting_.empty() || waiting_.front().starts_segment) return false;
  const Point& next = waiting_.front();
  const double pace = base_ns();
  const auto elapsed = static_cast<double>(next.time_ns - last_->time_ns);
  const auto numbers = static_cast<double>(next.number - last_->number);
  return std::abs(elapsed - numbers * pace) < 0.1 * pace && point.time_ns < next.time_ns;
}

void CadenceFold::count_oldest() {
  const Point point = waiting_.front();
  waiting_.erase(waiting_.begin());
  count(point);
}

void CadenceFold::count(const Point& point) {
  if (point.starts_segment || !last_) return start_segment(point);
  const auto numbers = static_cast<double>(point.number - last_->number);
  const auto elapsed = static_cast<double>(point.time_ns - last_->time_ns);
  const double pace = base_ns();
  const double away = std::abs(elapsed - numbers * pace);
  // Half a beat, more over long gaps, where the pace's own error adds up.
  if (away > pace * (0.5 * std::sqrt(numbers) + 0.03 * numbers)) {
    if (off_beat(point)) return;
    ++broken_beats_;
    return start_segment(point);
  }
  total_ns_ += point.time_ns - last_->time_ns;
  total_steps_ += point.number - last_->number;
  ++steps_;
  const auto reference = static_cast<double>(reference_ns_);
  near_.add(numbers, (elapsed - numbers * reference) * kNanosecond);
  if (behind_.size() == kFar) {
    const Point& far = behind_.front();
    const auto far_numbers = static_cast<double>(point.number - far.number);
    const auto far_elapsed = static_cast<double>(point.time_ns - far.time_ns);
    far_.add(far_numbers, (far_elapsed - far_numbers * reference) * kNanosecond);
    behind_.erase(behind_.begin());
  }
  behind_.push_back(point);
  last_ = point;
  add_to_blocks(point);
}

/// Where every third step is half a beat off there is no beat to speak of.
bool CadenceFold::has_beat() const { return broken_beats_ * 2 <= steps_; }

void CadenceFold::start_segment(const Point& point) {
  last_ = point;
  last_->starts_segment = true;
  behind_.assign(1, point);
  add_to_blocks(*last_);
}

void CadenceFold::add_to_blocks(const Point& point) {
  const bool fresh =
      point.starts_segment || blocks_.empty() || blocks_.back().count >= block_capacity_;
  if (fresh) {
    if (blocks_.size() == kMostBlocks) merge_blocks();
    blocks_.push_back({.number = point.number,
                       .time_ns = point.time_ns,
                       .count = 1,
                       .last_number = point.number,
                       .starts_segment = point.starts_segment});
    return;
  }
  Block& block = blocks_.back();
  block.numbers += static_cast<std::int64_t>(point.number - block.number);
  block.times_ns += point.time_ns - block.time_ns;
  block.last_number = point.number;
  ++block.count;
}

/// Joins neighbours two by two. Where phases are broken so often that this gains
/// nothing, the oldest blocks go.
void CadenceFold::merge_blocks() {
  std::vector<Block> merged;
  for (const Block& block : blocks_) {
    if (!merged.empty() && !block.starts_segment &&
        merged.back().count + block.count <= 2 * block_capacity_) {
      Block& into = merged.back();
      const auto count = static_cast<std::int64_t>(block.count);
      into.numbers += block.numbers + count * static_cast<std::int64_t>(block.number - into.number);
      into.times_ns += block.times_ns + Wide{count} * (block.time_ns - into.time_ns);
      into.last_number = block.last_number;
      into.count += block.count;
    } else {
      merged.push_back(block);
    }
  }
  block_capacity_ *= 2;
  blocks_ = std::move(merged);
  if (blocks_.size() > kMostBlocks * 3 / 4) {
    blocks_.erase(blocks_.begin(), blocks_.begin() + kMostBlocks / 4);
    blocks_.front().starts_segment = true;
  }
}

/// Counts what still waits, as if nothing more came.
void CadenceFold::count_waiting() {
  while (!waiting_.empty()) {
    if (reference_ns_ == 0 && waiting_.size() > 1 && !waiting_[1].starts_segment) {
      reference_ns_ = std::max<std::int64_t>(pace_between(waiting_[0], waiting_[1]), 1);
    }
    count_oldest();
  }
}

/// The blocks' phases against the reference pace, by exact sums.
std::vector<stats::PhaseBlock> CadenceFold::phases() const {
  const Block& origin = blocks_.front();
  std::vector<stats::PhaseBlock> result;
  for (const Block& block : blocks_) {
    const auto count = static_cast<std::int64_t>(block.count);
    const auto numbers =
        Wide{count} * static_cast<std::int64_t>(block.number - origin.number) + block.numbers;
    const Wide phase =
        Wide{count} * (block.time_ns - origin.time_ns) + block.times_ns - numbers * reference_ns_;
    result.push_back(
        {.number = static_cast<double>(numbers) / static_cast<double>(count),
         .phase_s = static_cast<double>(phase) / static_cast<double>(count) * kNanosecond,
         .count = static_cast<double>(count),
         .span = static_cast<double>(block.last_number - block.number),
         .starts_segment = block.starts_segment});
  }
  return result;
}

std::optional<Cadence> CadenceFold::summary(double confidence) const {
  CadenceFold whole = *this;
  whole.count_waiting();
  if (whole.steps_ == 0 || !whole.has_beat()) return std::nullopt;

  Cadence cadence;
  const double reference_s = static_cast<double>(whole.reference_ns_) * kNanosecond;
  cadence.interval_s = whole.steps_ < kStepsBefore
                           ? static_cast<double>(whole.total_ns_) /
                                 static_cast<double>(whole.total_steps_) * kNanosecond
                           : whole.base_ns() * kNanosecond;
  if (const auto offset = stats::pace_offset(whole.phases(), confidence)) {
    cadence.interval_s = reference_s + offset->offset_s;
    cadence.interval = Estimate{.value = cadence.interval_s,
                                .low = reference_s + offset->low_s,
                                .high = reference_s + offset->high_s};
  }
  const PhaseNoise spread = whole.noise(cadence.interval_s / kNanosecond, 0);
  cadence.jitter_s = std::sqrt(spread.white_s2 + spread.walk_s2);
  for (const Change& change : changes_) {
    cadence.changes.push_back(
        {.at = {change.at_ns}, .from = {change.from_ns}, .to = {change.to_ns}});
  }
  cadence.earlier_changes = earlier_changes_;
  return cadence;
}

}  // namespace fieldfare::evidence::internal
