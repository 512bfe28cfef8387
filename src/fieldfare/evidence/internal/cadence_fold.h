// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "fieldfare/evidence/internal/archive.h"
#include "fieldfare/evidence/node_evidence.h"
#include "fieldfare/stats/phase_noise.h"

namespace fieldfare::evidence::internal {

/// Sums over pairs of reports a fixed number of heard reports apart: how the
/// spread of the time between them grows with their distance.
struct SpreadSums {
  double pairs = 0;
  double steps = 0;
  double steps_squared = 0;
  double excess_s = 0;  ///< time beyond steps at the reference pace
  double excess_steps = 0;
  double excess_squared = 0;

  void add(double steps_between, double excess);

  /// Mean square of the time beyond steps at a pace `offset_s` above the
  /// reference.
  double mean_square(double offset_s) const;

  template <class Archive>
  void visit(Archive& archive) {
    archive(pairs, steps, steps_squared, excess_s, excess_steps, excess_squared);
  }
};

/// The two kinds of phase noise, as variances.
struct PhaseNoise {
  double white_s2 = 0;  ///< of one report about its beat
  double walk_s2 = 0;   ///< of one step
};

/// Follows when a node's reports come, in the order of their numbers, in bounded
/// memory: finds where the interval changed, leaves out reports off the beat, and
/// gathers the rest of the present stretch in blocks for stats::pace_offset().
class CadenceFold {
 public:
  /// From one heard report to the next.
  struct Step {
    double ns;
    double numbers;
    double pace() const { return ns / numbers; }
  };

  /// Takes the next report of a run.
  void add(std::uint64_t number, std::int64_t time_ns);

  /// The next report starts a new run: its phase says nothing about the pace.
  void break_phase() { broken_ = true; }

  /// What the reports so far amount to; nothing where they show no beat.
  std::optional<Cadence> summary(double confidence) const;

  template <class Archive>
  void visit(Archive& archive) {
    archive(waiting_, broken_, drift_, reference_ns_, last_, total_ns_, total_steps_, steps_,
            broken_beats_, near_, far_, behind_, blocks_, block_capacity_, changes_,
            earlier_changes_);
    if constexpr (Archive::kReads) {
      if (waiting_.size() > kWaiting || behind_.size() > kFar || block_capacity_ == 0) {
        archive.fail();
      }
    }
  }

 private:
  /// Reports that wait before they are counted, so that a change can be dated
  /// back to where it began.
  static constexpr std::size_t kWaiting = 20;
  static constexpr std::size_t kFar = 8;
  static constexpr std::size_t kMostBlocks = 256;
  static constexpr std::size_t kMostChanges = 256;

  struct Point {
    std::uint64_t number = 0;
    std::int64_t time_ns = 0;
    bool starts_segment = false;

    template <class Archive>
    void visit(Archive& archive) {
      archive(number, time_ns, starts_segment);
    }
  };
  struct Block {
    std::uint64_t number = 0;  ///< of its first report
    std::int64_t time_ns = 0;
    std::uint64_t count = 0;
    std::uint64_t last_number = 0;
    std::int64_t numbers = 0;  ///< sum of numbers beyond the first's
    Wide times_ns = 0;         ///< sum of times beyond the first's
    bool starts_segment = false;

    template <class Archive>
    void visit(Archive& archive) {
      archive(number, time_ns, count, last_number, numbers, times_ns, starts_segment);
    }
  };
  struct Change {
    std::int64_t at_ns = 0;
    std::int64_t from_ns = 0;
    std::int64_t to_ns = 0;

    template <class Archive>
    void visit(Archive& archive) {
      archive(at_ns, from_ns, to_ns);
    }
  };
  struct Split {
    std::size_t first_new;  ///< index in waiting_ of the first report at the new pace
    std::size_t start;      ///< ... of the one from which the new pace counts
    double old_ns;
    double new_ns;
  };

  struct Candidate {
    Split split;
    double gain;  ///< by how much two paces explain the steps better than one
  };

  double base_ns() const;
  void set_reference();
  static std::int64_t pace_between(const Point& from, const Point& to);
  void look_for_change();
  std::vector<Step> steps(std::size_t from, std::size_t to) const;
  std::optional<Candidate> split_at(std::size_t at, double reach) const;
  std::optional<Split> best_split() const;
  PhaseNoise cautious_noise(double pace_ns, const std::vector<Step>& before) const;
  bool is_change(const Split& split) const;
  void change_at(const Split& split);
  void count_oldest();
  void count(const Point& point);
  bool off_beat(const Point& point) const;
  bool has_beat() const;
  void start_segment(const Point& point);
  void add_to_blocks(const Point& point);
  void merge_blocks();
  void count_waiting();
  std::vector<stats::PhaseBlock> phases() const;
  PhaseNoise noise(double pace_ns, double caution) const;

  std::vector<Point> waiting_;
  bool broken_ = true;
  double drift_ = 0;                ///< running mean of how far steps are from the pace, relative
  std::int64_t reference_ns_ = 0;   ///< 0 until the first steps have set it
  std::optional<Point> last_;       ///< the last report counted
  std::int64_t total_ns_ = 0;       ///< over the steps counted
  std::uint64_t total_steps_ = 0;   ///< numbers
  std::uint64_t steps_ = 0;         ///< pairs of consecutive heard reports counted
  std::uint64_t broken_beats_ = 0;  ///< steps that were none, and began a segment
  SpreadSums near_;
  SpreadSums far_;
  std::vector<Point> behind_;  ///< the last kFar counted in this segment
  std::vector<Block> blocks_;
  std::uint64_t block_capacity_ = 1;
  std::vector<Change> changes_;
  std::uint64_t earlier_changes_ = 0;
};

}  // namespace fieldfare::evidence::internal
