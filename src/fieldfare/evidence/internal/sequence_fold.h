// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <vector>

#include "fieldfare/evidence/entry.h"
#include "fieldfare/evidence/internal/counter_run.h"
#include "fieldfare/evidence/node_evidence.h"

namespace fieldfare::evidence::internal {

/// What SequenceFold makes of the rows of one node.
class SequenceListener {
 public:
  enum class Place : std::uint8_t {
    starts_run,  ///< the first of a run
    in_order,    ///< ahead of all before it in its run
    late,        ///< fills a hole; its time says nothing about the beat
  };

  virtual unsigned link_of(const Entry& entry) = 0;
  virtual void on_report(const Entry& entry, std::uint64_t number, Place place) = 0;
  virtual void on_repeat(const Entry& entry, bool same_receiver) = 0;
  virtual void on_stray(const Entry& entry) = 0;
  /// A row told as a stray before has found its place after all.
  virtual void on_stray_placed(const Entry& entry, std::uint64_t number) = 0;
  virtual void on_break(std::int64_t time_ns, BreakKind kind) = 0;

 protected:
  ~SequenceListener() = default;
};

/// Turns one node's rows, in canonical order, into runs of numbered reports.
///
/// A row that has no place in the run is set aside until later rows tell what it
/// was: once the old run goes on, it was a late report (where its number had been
/// passed over) or a stray; once three rows in a row make a run of their own, the
/// counter was reset, or jumped. A row whose values cannot be starts nothing.
class SequenceFold {
 public:
  explicit SequenceFold(NodeFacts facts) : run_{facts} {}

  /// `entry` carries a sequence number and isn't earlier than any before it.
  void add(const Entry& entry, SequenceListener& listener);

  /// Decides about what is still set aside, as if nothing more came.
  void finish(SequenceListener& listener);

  const CounterRun& run() const { return run_; }

  template <class Archive>
  void visit(Archive& archive) {
    archive(run_, set_aside_, early_, chain_start_, chain_length_, chain_needs_run_);
    if constexpr (Archive::kReads) {
      if (chain_start_ > set_aside_.size()) archive.fail();
    }
  }

 private:
  struct Aside {
    Entry entry;
    Relation::Kind kind = Relation::Kind::foreign;
    std::uint64_t number = 0;
    bool above = false;
    bool repeats = false;  ///< the same number as another row set aside

    template <class Archive>
    void visit(Archive& archive) {
      archive(entry, kind, number, above, repeats);
    }
  };
  struct Early {
    Entry entry;
    std::uint64_t number = 0;

    template <class Archive>
    void visit(Archive& archive) {
      archive(entry, number);
    }
  };

  void start_run(const Entry& entry, SequenceListener& listener);
  void take(const Entry& entry, const Relation& relation, SequenceListener& listener);
  void go_on(const Entry& entry, const Relation& relation, SequenceListener& listener);
  void place_early(std::uint64_t from, SequenceListener& listener);
  bool repeats_aside(const Entry& entry);
  void set_aside(const Entry& entry, const Relation& relation, bool follows_chain);
  void give_to_run(std::size_t count, SequenceListener& listener);
  static bool may_restart(const Aside& row);
  bool chain_is_decided() const;
  void found_run(SequenceListener& listener);
  void forget_chain();

  CounterRun run_;
  std::vector<Aside> set_aside_;
  std::vector<Early> early_;        ///< strays ahead of the run, in case it reaches them
  std::uint64_t chain_start_ = 0;   ///< where in set_aside_ the latest consistent rows begin
  std::uint32_t chain_length_ = 0;  ///< how many numbers they make
  bool chain_needs_run_ = false;    ///< one of them at least can't be of the old run
};

}  // namespace fieldfare::evidence::internal
