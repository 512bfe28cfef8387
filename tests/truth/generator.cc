// SPDX-License-Identifier: Apache-2.0
#include "generator.h"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <iterator>
#include <numeric>

#include "dice.h"
#include "kit.h"

namespace fieldfare::truth {
namespace {

constexpr std::int64_t kBeginNs = 1'767'571'200'000'000'000;  // 2026-01-05T00:00:00Z
// Of a setting's seed; the sender has stream 0.
constexpr std::uint64_t kAirStream = 1;
constexpr std::uint64_t kOrderStream = 2;
constexpr std::uint64_t kFirstChannelStream = 3;

constexpr double kShortestOffSeconds = 3;
constexpr std::size_t kStraySpacing = 12;  // reports; more than two in a row are no strays

std::int64_t nanoseconds(double seconds) {
  return static_cast<std::int64_t>(std::floor(seconds * 1e9 + 0.5));
}

/// The node: when it sends what. Knows nothing of receivers.
class Sender {
 public:
  explicit Sender(const Setting& setting)
      : setting_{setting},
        dice_{setting.seed},
        turn_{std::uint64_t{1} << setting.counter_bits},
        interval_s_{setting.interval_s},
        beat_s_{dice_.uniform() * setting.interval_s},
        counter_{setting.first_counter ? *setting.first_counter % turn_ : dice_.below(turn_)},
        resets_{setting.resets} {
    while (resets_.size() < setting.resets.size() + setting.random_resets) {
      resets_.push_back(1 + dice_.below(setting.reports - 1));
    }
  }

  std::vector<SentReport> send(Truth& truth) {
    std::vector<SentReport> sent;
    sent.reserve(setting_.reports);
    for (std::size_t k = 0; k < setting_.reports; ++k) {
      const bool reset = k > 0 && step_to(k);
      const double jitter_s = setting_.white_jitter * interval_s_ * dice_.normal();
      sent.push_back({kBeginNs + nanoseconds(beat_s_ + jitter_s), counter_, run_, reset, {}});
      change_interval(k, sent.back().time_ns, truth);
    }
    truth.last_interval_s = interval_s_;
    return sent;
  }

 private:
  /// Moves beat and counter on; true where the counter restarted.
  bool step_to(std::size_t report) {
    const auto sleep = std::ranges::find(setting_.standstills, report, &Standstill::at_report);
    const bool listed = std::ranges::find(resets_, report) != resets_.end();
    if (listed || dice_.chance(setting_.reset_rate)) {
      // Cut off somewhere between two beats, dark for a while, then at once a report.
      const double off = dice_.uniform() + dice_.uniform(0, setting_.longest_off_intervals);
      begin_run(setting_.starts_at % turn_, std::max(off, kShortestOffSeconds / interval_s_));
      return true;
    }
    if (sleep != setting_.standstills.end()) {
      begin_run(counter_, sleep->intervals);
    } else {
      counter_ = (counter_ + 1) % turn_;
      beat_s_ += interval_s_ * (1 + setting_.accumulating_jitter * dice_.normal());
    }
    return false;
  }

  void begin_run(std::uint64_t counter, double after_intervals) {
    counter_ = counter;
    beat_s_ += interval_s_ * after_intervals;
    ++run_;
  }

  void change_interval(std::size_t report, std::int64_t at_ns, Truth& truth) {
    const auto change = std::ranges::find(setting_.changes, report, &IntervalChange::at_report);
    if (change == setting_.changes.end()) return;
    truth.changes.push_back({at_ns, interval_s_, interval_s_ * change->factor});
    interval_s_ *= change->factor;
  }

  const Setting& setting_;
  Dice dice_;
  std::uint64_t turn_;
  double interval_s_;
  double beat_s_;
  std::uint64_t counter_;
  std::uint32_t run_ = 0;
  std::vector<std::size_t> resets_;
};

/// One receiver's chain, begun in its stationary state.
class Channel {
 public:
  Channel(const Loss& loss, const Dice& dice)
      : loss_{loss}, dice_{dice}, bad_{dice_.chance(loss.share())} {}

  bool hears() {
    const bool heard = !bad_;
    bad_ = dice_.chance(bad_ ? 1 - loss_.bad_to_good : loss_.good_to_bad);
    return heard;
  }

 private:
  Loss loss_;
  Dice dice_;
  bool bad_;
};

/// The receivers: which reports become rows, still in the order of time.
class Air {
 public:
  explicit Air(const Setting& setting)
      : setting_{setting},
        turn_{std::uint64_t{1} << setting.counter_bits},
        dice_{setting.seed, kAirStream} {
    for (std::size_t i = 0; i < setting.losses.size(); ++i) {
      channels_.emplace_back(setting.losses[i], Dice{setting.seed, kFirstChannelStream + i});
    }
  }

  void carry(Truth& truth, std::vector<Row>& rows) {
    for (std::size_t k = 0; k < truth.sent.size(); ++k) {
      SentReport& report = truth.sent[k];
      hear(report, truth, rows);
      if (dice_.chance(setting_.strays) && stray_fits(truth.sent, k)) add_stray(truth, k, rows);
    }
    std::ranges::stable_sort(rows, {}, &Row::time_ns);
  }

 private:
  void hear(SentReport& report, Truth& truth, std::vector<Row>& rows) {
    bool fate = channels_[0].hears();
    for (std::size_t i = 0; i < channels_.size(); ++i) {
      if (i > 0 && !setting_.one_fate) fate = channels_[i].hears();
      if (!fate) continue;
      const double late_s = i == 0 ? 0 : setting_.second_receiver_late_s;
      const std::int64_t heard_ns = report.time_ns + nanoseconds(late_s);
      report.heard_ns = std::min(heard_ns, report.heard_ns.value_or(heard_ns));
      const Row row{heard_ns, 0, static_cast<std::uint32_t>(i), report.seq, level_dbm(i)};
      rows.push_back(row);
      ++truth.hearings;
      if (!dice_.chance(setting_.duplicates)) continue;
      rows.push_back(row);
      rows.back().time_ns += nanoseconds(dice_.uniform(0.05, 2));
      ++truth.hearings;
      ++truth.duplicates;
    }
  }

  double level_dbm(std::size_t receiver) {
    return std::floor(-78.0 - 6.0 * static_cast<double>(receiver) + 4 * dice_.normal());
  }

  /// Away from the ends and from other runs, where the old run visibly goes on.
  bool stray_fits(const std::vector<SentReport>& sent, std::size_t k) const {
    if (k < next_stray_ || k < kStraySpacing || k + kStraySpacing >= sent.size()) return false;
    return sent[k - kStraySpacing].run == sent[k + kStraySpacing].run;
  }

  void add_stray(Truth& truth, std::size_t k, std::vector<Row>& rows) {
    const SentReport& now = truth.sent[k];
    const std::int64_t gap_ns = truth.sent[k + 1].time_ns - now.time_ns;
    const auto after_ns = static_cast<std::int64_t>(static_cast<double>(gap_ns) * 0.5);
    const std::uint64_t away = turn_ / 4 + dice_.below(turn_ / 2);
    rows.push_back({now.time_ns + after_ns, 0, 0, (now.seq + away) % turn_, level_dbm(0)});
    ++truth.strays;
    next_stray_ = k + kStraySpacing;
  }

  const Setting& setting_;
  std::uint64_t turn_;
  Dice dice_;
  std::vector<Channel> channels_;
  std::size_t next_stray_ = 0;
};

double stationary_delivery(const Setting& setting) {
  double lost = setting.losses[0].share();
  if (setting.losses.size() > 1 && !setting.one_fate) lost *= setting.losses[1].share();
  return 1 - lost;
}

bool is_identifiable(const SentReport& before, const SentReport& after, double interval_s,
                     std::uint64_t turn) {
  const double elapsed_s = static_cast<double>(after.time_ns - before.time_ns) * 1e-9;
  const std::uint64_t step = (after.seq + turn - before.seq) % turn;
  if (step == 0) return elapsed_s > interval_s;
  return static_cast<double>(step) > elapsed_s / interval_s + 1;
}

double interval_at(const Setting& setting, const Truth& truth, std::int64_t time_ns) {
  double interval_s = setting.interval_s;
  for (const Change& change : truth.changes) {
    if (change.at_ns < time_ns) interval_s = change.to_s;
  }
  return interval_s;
}

/// The restart between two neighbouring heard reports of different runs.
Restart restart_between(const Setting& setting, const Truth& truth, std::size_t before,
                        std::size_t after) {
  const auto first = truth.sent.begin() + static_cast<std::ptrdiff_t>(before) + 1;
  const auto last = truth.sent.begin() + static_cast<std::ptrdiff_t>(after) + 1;
  const bool reset = std::any_of(first, last, [](const SentReport& r) { return r.reset_before; });
  const SentReport& heard = truth.sent[after];
  const double interval_s = interval_at(setting, truth, heard.time_ns);
  const std::uint64_t turn = std::uint64_t{1} << setting.counter_bits;
  return {*heard.heard_ns, reset ? RestartKind::reset : RestartKind::stood_still,
          is_identifiable(truth.sent[before], heard, interval_s, turn)};
}

void count(const Setting& setting, Truth& truth) {
  std::optional<std::size_t> previous;
  for (std::size_t k = 0; k < truth.sent.size(); ++k) {
    if (!truth.sent[k].heard_ns) continue;
    ++truth.heard;
    if (previous && truth.sent[*previous].run == truth.sent[k].run) {
      truth.expected += k - *previous;
      truth.longest_lost_run = std::max<std::uint64_t>(truth.longest_lost_run, k - *previous - 1);
    } else {
      ++truth.expected;
      if (previous) truth.restarts.push_back(restart_between(setting, truth, *previous, k));
    }
    previous = k;
  }
}

void delay_batches(std::vector<Row>& rows, const LateBatches& late, Dice& dice) {
  const std::size_t span = late.rows + late.later_by;
  if (rows.size() <= span) return;
  for (std::size_t i = 0; i < late.count; ++i) {
    const auto first = rows.begin() + static_cast<std::ptrdiff_t>(dice.below(rows.size() - span));
    std::rotate(first, first + static_cast<std::ptrdiff_t>(late.rows),
                first + static_cast<std::ptrdiff_t>(span));
  }
}

}  // namespace

Loss Loss::bursty(double share, double mean_run) {
  const double r = 1 / mean_run;
  const double p = share * r / (1 - share);
  assert(p <= 1);
  return {p, r};
}

double Loss::share() const {
  return good_to_bad == 0 ? 0 : good_to_bad / (good_to_bad + bad_to_good);
}

Log generate(const Setting& setting) {
  assert(setting.losses.size() == 1 || setting.losses.size() == 2);
  assert(setting.reports > 0);
  Log log;
  log.truth.delivery = stationary_delivery(setting);
  log.truth.sent = Sender{setting}.send(log.truth);
  Air{setting}.carry(log.truth, log.rows);
  count(setting, log.truth);

  Dice dice{setting.seed, kOrderStream};
  delay_batches(log.rows, setting.late, dice);
  if (setting.shuffle_window > 1) {
    log.rows = shuffled_within(log.rows, setting.shuffle_window, dice);
  }
  return log;
}

std::vector<Row> interleave(const std::vector<Log>& logs) {
  // A row may pass no earlier than those before it in its own file: its place
  // is given by the latest time that its file has reached.
  std::vector<std::pair<std::int64_t, Row>> placed;
  for (std::size_t node = 0; node < logs.size(); ++node) {
    std::int64_t reached = 0;
    for (Row row : logs[node].rows) {
      row.node = static_cast<std::uint32_t>(node);
      reached = std::max(reached, row.time_ns);
      placed.emplace_back(reached, row);
    }
  }
  std::ranges::stable_sort(placed, {}, &std::pair<std::int64_t, Row>::first);
  std::vector<Row> rows;
  rows.reserve(placed.size());
  std::ranges::transform(placed, std::back_inserter(rows), &std::pair<std::int64_t, Row>::second);
  return rows;
}

}  // namespace fieldfare::truth
