// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

namespace fieldfare::truth {

/// Loss of reports as a two-state chain (Gilbert): in the bad state nothing is
/// heard. Independent loss is the chain without memory, r = 1 - p.
struct Loss {
  double good_to_bad = 0;  ///< p, per report
  double bad_to_good = 1;  ///< r, per report; the mean loss run is 1 / r reports

  static Loss independent(double share) { return {share, 1 - share}; }
  /// Stationary loss `share` < 1 in runs of `mean_run` >= 1 reports. The share
  /// can be had where p <= 1: share <= mean_run / (1 + mean_run).
  static Loss bursty(double share, double mean_run);

  /// Stationary share lost, p / (p + r).
  double share() const;
  /// Correlation of neighbouring reports, 1 - p - r.
  double memory() const { return 1 - good_to_bad - bad_to_good; }
};

/// From report `at_report` on, the next report follows after `factor` times the
/// interval so far.
struct IntervalChange {
  std::size_t at_report = 0;
  double factor = 1;
};

/// Before report `at_report` the node sleeps for so many intervals and then
/// sends the number of the report before once more.
struct Standstill {
  std::size_t at_report = 0;
  double intervals = 1000;
};

/// Rows that come late in the file, with the time at which they were heard.
struct LateBatches {
  std::size_t count = 0;
  std::size_t rows = 20;      ///< rows of a batch, neighbours in time
  std::size_t later_by = 60;  ///< rows that overtake the batch
};

/// What one generated node does and how it is heard. Shares are 0 .. 1; sizes
/// of jitter are shares of the interval then in force.
struct Setting {
  std::uint64_t seed = 1;
  std::size_t reports = 1000;  ///< sent in all, over all runs of the counter
  double interval_s = 31;
  unsigned counter_bits = 16;                  ///< 8 or 16
  std::uint64_t starts_at = 0;                 ///< the counter after a reset
  std::optional<std::uint64_t> first_counter;  ///< of the log's first report; drawn where absent

  std::vector<Loss> losses = {Loss{}};  ///< a receiver each, one or two
  bool one_fate = false;                ///< all receivers hear or miss together, by losses[0]
  double second_receiver_late_s = 0.002;

  double white_jitter = 0;         ///< sd of each report about its beat
  double accumulating_jitter = 0;  ///< sd of each step from beat to beat

  double duplicates = 0;  ///< share of hearings that come once more, 0.05 to 2 s later
  double strays = 0;      ///< chance per report of a row with an impossible counter after it
  std::size_t shuffle_window = 0;  ///< rows are displaced by fewer than so many rows
  LateBatches late;

  std::vector<std::size_t> resets;  ///< reports (> 0) before which the counter restarts
  std::size_t random_resets = 0;    ///< further ones before reports drawn by lot
  double reset_rate = 0;            ///< further ones: chance before each report
  /// A node is dark for at most so many intervals after a reset, and for at least
  /// 3 s, by when no duplicate of the old run comes any more.
  double longest_off_intervals = 5;
  std::vector<IntervalChange> changes;
  std::vector<Standstill> standstills;
};

/// A hearing as a log tells it.
struct Row {
  std::int64_t time_ns = 0;  ///< since 1970-01-01T00:00:00Z
  std::uint32_t node = 0;
  std::uint32_t receiver = 0;
  std::uint64_t seq = 0;
  double rssi_dbm = 0;  ///< whole dBm

  bool operator==(const Row&) const = default;
};

struct SentReport {
  std::int64_t time_ns = 0;
  std::uint64_t seq = 0;
  std::uint32_t run = 0;  ///< of the counter: one more after each reset or standstill
  bool reset_before = false;
  std::optional<std::int64_t> heard_ns;  ///< first by any receiver; absent: lost
};

enum class RestartKind : std::uint8_t { reset, stood_still };

/// A reset or standstill between two neighbouring heard reports.
struct Restart {
  std::int64_t at_ns = 0;  ///< first hearing afterwards
  RestartKind kind = RestartKind::reset;
  /// Whether somebody who knows interval and counter width can tell it from
  /// ordinary loss: the counter went further than the time between the two
  /// hearings allows, or shows the same number again more than an interval later.
  bool identifiable = false;
};

struct Change {
  std::int64_t at_ns = 0;  ///< the last report at the old interval
  double from_s = 0;
  double to_s = 0;
};

/// What was so, whatever was heard of it.
struct Truth {
  double delivery = 1;  ///< stationary chance that a report is heard by any receiver
  std::vector<SentReport> sent;

  // As the judged figures count them: a run reaches from its first to its last
  // heard report, and nothing is expected between runs.
  std::uint64_t heard = 0;
  std::uint64_t expected = 0;
  std::uint64_t hearings = 0;    ///< rows but strays
  std::uint64_t duplicates = 0;  ///< rows that repeat one of the same receiver
  std::uint64_t strays = 0;
  std::uint64_t longest_lost_run = 0;  ///< between two heard reports of one run

  std::vector<Restart> restarts;
  std::vector<Change> changes;
  double last_interval_s = 0;

  std::uint64_t missed() const { return expected - heard; }
};

struct Log {
  std::vector<Row> rows;  ///< in file order
  Truth truth;
};

/// Makes a log and its truth; the same for the same setting on every platform.
/// The node of all rows is 0. Preconditions (asserted): one or two receivers,
/// `reports` > 0, no reset or standstill before report 0.
Log generate(const Setting& setting);

/// Puts logs of single nodes into one, ordered by time and numbered as nodes
/// 0, 1, ... File order inside each log is kept where it is not that of time.
std::vector<Row> interleave(const std::vector<Log>& logs);

}  // namespace fieldfare::truth
