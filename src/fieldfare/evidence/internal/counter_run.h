// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "fieldfare/evidence/facts.h"
#include "fieldfare/evidence/internal/loss_fold.h"
#include "fieldfare/evidence/internal/pace.h"

namespace fieldfare::evidence::internal {

/// How a counter value relates to the run of numbers so far.
struct Relation {
  enum class Kind : std::uint8_t {
    repeat,   ///< a number heard a moment ago: the same report once more
    ahead,    ///< the run goes on
    hole,     ///< a number passed over before: a report that comes late
    same,     ///< the last number again after a long silence
    foreign,  ///< no place in this run
  };
  Kind kind;
  std::uint64_t number = 0;     ///< unwrapped; for `foreign` what it would be ahead of the run
  double mismatch = 0;          ///< numbers by which counter and clock disagree, where known
  bool by_clock = false;        ///< counter and clock agree
  bool near_clock = false;      ///< ... roughly, or there is no clock to go by
  bool above = false;           ///< foreign only: ahead of the run rather than behind
  std::uint8_t wraps_bits = 0;  ///< ahead only: width of the counter, where it went round
};

/// One run of a counter: numbers unwrapped from the b bits sent, with what was
/// heard of the last kSlots of them.
class CounterRun {
 public:
  static constexpr std::uint64_t kSlots = 512;

  explicit CounterRun(NodeFacts facts) : facts_{facts} {}

  bool started() const { return started_; }

  /// Whether a counter of the stated width can hold the value.
  bool fits(std::uint32_t sequence) const {
    return !facts_.sequence_bits || (std::uint64_t{sequence} >> *facts_.sequence_bits) == 0;
  }
  std::uint64_t first() const { return first_; }
  std::uint64_t head() const { return head_; }
  std::int64_t head_time_ns() const { return head_time_ns_; }

  /// Begins a run with the number as sent.
  /// `clocked`, here and below: the time is that of the report, not that of a
  /// delivery together with others, and can be held against the counter.
  void start(std::uint32_t sequence, std::int64_t time_ns, bool clocked = true);

  /// Settles what is left and counts the run's numbers into expected().
  void end();

  Relation relate(std::uint32_t sequence, std::int64_t time_ns, bool clocked = true) const;

  /// What relate() would say, without its cost, of the rows that nearly all are:
  /// the last number once more, or a few numbers on. Nothing for any other; tells
  /// nothing of the clock.
  std::optional<Relation> relate_at_once(std::uint32_t sequence, std::int64_t time_ns) const;

  /// Goes on to the number of a relation that is `ahead`.
  void advance(const Relation& ahead, std::int64_t time_ns, bool clocked = true);

  /// Fills a hole, also one just before the run's first number.
  void fill(std::uint64_t number, std::int64_t time_ns);

  bool heard(std::uint64_t number) const;

  /// Notes that `link` heard `number`; true where it had done so before.
  bool mark_link(std::uint64_t number, unsigned link);

  /// Whether `later` can follow `earlier` after `elapsed_ns`, and how far counter
  /// and clock disagree; nothing where it can't.
  std::optional<double> follows(std::uint32_t earlier, std::uint32_t later, std::int64_t elapsed_ns,
                                bool clocked = true) const;

  /// A number heard again within this time is the same report once more: within a
  /// minute or three steps, but for a narrow counter so fast that it may have gone
  /// half round meanwhile.
  std::int64_t repeat_window_ns() const;

  /// The pace by the clock, from the steps or as stated.
  std::optional<Pace::Estimate> pace() const;

  std::uint64_t expected() const { return expected_before_ + (started_ ? head_ - first_ + 1 : 0); }
  LossFold& losses() { return losses_; }
  const LossFold& losses() const { return losses_; }

  template <class Archive>
  void visit(Archive& archive) {
    archive(started_, wrapped_bits_, most_sent_, first_, head_, settled_, head_time_ns_,
            head_clocked_, expected_before_, pace_, losses_, slots_);
    if constexpr (Archive::kReads) {
      const bool sane = (slots_.size() & (slots_.size() - 1)) == 0 && slots_.size() <= kSlots &&
                        first_ <= head_ && (!started_ || head_ - settled_ < slots_.size());
      if (!sane) archive.fail();
    }
  }

 private:
  struct Slot {
    std::int64_t first_ns = kUnheard;
    std::uint64_t links = 0;

    template <class Archive>
    void visit(Archive& archive) {
      archive(first_ns, links);
    }
  };
  static constexpr std::int64_t kUnheard = INT64_MIN;

  Slot& slot(std::uint64_t number) { return slots_[number & (slots_.size() - 1)]; }
  const Slot& slot(std::uint64_t number) const { return slots_[number & (slots_.size() - 1)]; }
  void make_room(std::uint64_t numbers);
  void settle_before(std::uint64_t number);
  std::uint64_t modulus(std::uint32_t sequence) const;
  bool width_known() const { return facts_.sequence_bits || wrapped_bits_ != 0; }
  double long_step_ns(double short_step_ns) const;
  Relation relate_ahead(std::uint32_t sequence, std::int64_t elapsed_ns, bool clocked) const;

  NodeFacts facts_;
  bool started_ = false;
  std::uint8_t wrapped_bits_ = 0;  ///< width learned from a wrap, 0 before one
  std::uint32_t most_sent_ = 0;
  std::uint64_t first_ = 0;
  std::uint64_t head_ = 0;
  std::uint64_t settled_ = 0;  ///< numbers below are counted in losses_
  std::int64_t head_time_ns_ = 0;
  bool head_clocked_ = true;
  std::uint64_t expected_before_ = 0;
  Pace pace_;
  LossFold losses_;
  std::vector<Slot> slots_;  ///< its size is a power of two
};

}  // namespace fieldfare::evidence::internal
