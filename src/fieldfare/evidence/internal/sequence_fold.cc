// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/evidence/internal/sequence_fold.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace fieldfare::evidence::internal {
namespace {

using Kind = Relation::Kind;
using Place = SequenceListener::Place;

/// Rows that make a run of their own: one or two may be strays.
constexpr std::uint32_t kRunLength = 3;

/// Bounds on what waits for a decision. The real batches seen so far put some
/// twenty late rows between two in order.
constexpr std::size_t kMostAside = 256;
constexpr std::size_t kMostEarly = 256;

/// Where the rows end, a lower number is taken for a reset only if it is one that
/// a counter has shortly after a restart.
constexpr std::uint32_t kShortlyAfterStart = 64;

bool is_clocked(const Entry& entry) { return !entry.is(Entry::kBatched); }

/// Relations with which the run goes on, or stands still, without being broken by
/// a reset.
bool is_of_run(Kind kind) { return kind == Kind::ahead || kind == Kind::same; }

}  // namespace

void SequenceFold::add(const Entry& entry, SequenceListener& listener) {
  if (entry.is(Entry::kImpossibleSequence) || !run_.fits(entry.sequence)) {
    return listener.on_stray(entry);
  }
  if (!run_.started()) return start_run(entry, listener);
  if (set_aside_.empty() && !entry.is(Entry::kImplausible)) {
    if (const auto relation = run_.relate_at_once(entry.sequence, entry.time_ns)) {
      return take(entry, *relation, listener);
    }
  }
  if (!set_aside_.empty() && repeats_aside(entry)) return;

  const Relation relation = run_.relate(entry.sequence, entry.time_ns, is_clocked(entry));
  if (set_aside_.empty() || relation.kind == Kind::repeat) return take(entry, relation, listener);

  const Entry& chain_head = set_aside_.back().entry;
  const auto chain_mismatch =
      run_.follows(chain_head.sequence, entry.sequence, entry.time_ns - chain_head.time_ns,
                   is_clocked(entry) && is_clocked(chain_head));
  const bool run_is_nearer =
      !chain_needs_run_ || !chain_mismatch || relation.mismatch <= *chain_mismatch;
  if (relation.kind == Kind::ahead && relation.near_clock && run_is_nearer) {
    give_to_run(set_aside_.size(), listener);
    // Late rows may have moved nothing but holes: the relation still stands.
    return take(entry, relation, listener);
  }
  if (entry.is(Entry::kImplausible)) return listener.on_stray(entry);
  set_aside(entry, relation, chain_mismatch.has_value());
  if (chain_length_ >= kRunLength && chain_is_decided()) return found_run(listener);
  if (set_aside_.size() > kMostAside) give_to_run(kMostAside / 2, listener);
}

void SequenceFold::start_run(const Entry& entry, SequenceListener& listener) {
  run_.start(entry.sequence, entry.time_ns, is_clocked(entry));
  run_.mark_link(run_.head(), listener.link_of(entry));
  listener.on_report(entry, run_.head(), Place::starts_run);
}

/// Takes a row while nothing is set aside, or one that leaves what is untouched.
void SequenceFold::take(const Entry& entry, const Relation& relation, SequenceListener& listener) {
  switch (relation.kind) {
    case Kind::repeat:
      return listener.on_repeat(entry, run_.mark_link(relation.number, listener.link_of(entry)));
    case Kind::ahead:
      // A row with values that cannot be moves the run only where the clock agrees.
      if (entry.is(Entry::kImplausible) && relation.number != run_.head() + 1 &&
          !relation.by_clock) {
        return listener.on_stray(entry);
      }
      return go_on(entry, relation, listener);
    case Kind::same:
      if (entry.is(Entry::kImplausible)) return listener.on_stray(entry);
      run_.end();
      early_.clear();
      listener.on_break(entry.time_ns, BreakKind::stood_still);
      return start_run(entry, listener);
    case Kind::hole:
    case Kind::foreign:
      if (entry.is(Entry::kImplausible)) return listener.on_stray(entry);
      return set_aside(entry, relation, false);
  }
}

void SequenceFold::go_on(const Entry& entry, const Relation& relation, SequenceListener& listener) {
  const std::uint64_t before = run_.head();
  run_.advance(relation, entry.time_ns, is_clocked(entry));
  run_.mark_link(run_.head(), listener.link_of(entry));
  listener.on_report(entry, run_.head(), Place::in_order);
  if (!early_.empty()) place_early(before, listener);
}

/// Strays whose numbers the run has just passed over were reports that came early.
void SequenceFold::place_early(std::uint64_t from, SequenceListener& listener) {
  std::vector<Early> later;
  for (const Early& early : early_) {
    if (early.number >= run_.head()) {
      if (early.number > run_.head()) later.push_back(early);
      continue;
    }
    const bool passed_over = early.number > from && !run_.heard(early.number) &&
                             run_.head() - early.number < CounterRun::kSlots;
    if (!passed_over) continue;
    run_.fill(early.number, early.entry.time_ns);
    run_.mark_link(early.number, listener.link_of(early.entry));
    listener.on_stray_placed(early.entry, early.number);
  }
  early_ = std::move(later);
}

/// A further hearing or a duplicate of a row that is itself set aside.
bool SequenceFold::repeats_aside(const Entry& entry) {
  for (auto aside = set_aside_.rbegin(); aside != set_aside_.rend(); ++aside) {
    if (aside->repeats || aside->entry.sequence != entry.sequence) continue;
    if (entry.time_ns - aside->entry.time_ns > run_.repeat_window_ns()) return false;
    // Goes just behind the row it repeats, so that the chain's last row stays last.
    Aside repeat = *aside;
    repeat.entry = entry;
    repeat.repeats = true;
    const auto at = set_aside_.insert(aside.base(), repeat);
    if (static_cast<std::size_t>(at - set_aside_.begin()) < chain_start_) ++chain_start_;
    return true;
  }
  return false;
}

void SequenceFold::set_aside(const Entry& entry, const Relation& relation, bool follows_chain) {
  if (!follows_chain || chain_length_ == 0) {
    chain_start_ = set_aside_.size();
    chain_length_ = 0;
    chain_needs_run_ = false;
  }
  ++chain_length_;
  chain_needs_run_ = chain_needs_run_ || relation.kind == Kind::foreign;
  set_aside_.push_back({.entry = entry,
                        .kind = relation.kind,
                        .number = relation.number,
                        .above = relation.above || relation.kind == Kind::ahead});
}

void SequenceFold::forget_chain() {
  chain_start_ = set_aside_.size();
  chain_length_ = 0;
  chain_needs_run_ = false;
}

/// Late reports alone may all be of the old run, however many: they wait until it
/// goes on.
bool SequenceFold::chain_is_decided() const {
  return chain_needs_run_ || is_of_run(set_aside_[static_cast<std::size_t>(chain_start_)].kind);
}

/// Decides that the first `count` rows set aside are late reports of the old run,
/// or strays.
void SequenceFold::give_to_run(std::size_t count, SequenceListener& listener) {
  std::vector<Aside> rows(set_aside_.begin(),
                          set_aside_.begin() + static_cast<std::ptrdiff_t>(count));
  set_aside_.erase(set_aside_.begin(), set_aside_.begin() + static_cast<std::ptrdiff_t>(count));
  for (const Aside& row : rows) {
    if (row.kind == Kind::hole) {
      if (run_.heard(row.number)) {
        listener.on_repeat(row.entry, run_.mark_link(row.number, listener.link_of(row.entry)));
        continue;
      }
      run_.fill(row.number, row.entry.time_ns);
      run_.mark_link(row.number, listener.link_of(row.entry));
      listener.on_report(row.entry, row.number, Place::late);
      continue;
    }
    if (row.repeats) {
      // Of a stray: told once is enough.
      listener.on_repeat(row.entry, true);
      continue;
    }
    listener.on_stray(row.entry);
    if (row.above) {
      if (early_.size() == kMostEarly) early_.erase(early_.begin());
      early_.push_back({.entry = row.entry, .number = row.number});
    }
  }
  if (count >= chain_start_) {
    forget_chain();
  } else {
    chain_start_ -= count;
  }
}

/// Whether the counter may have been restarted with this row: it fell back to a
/// number that comes shortly after a start.
bool SequenceFold::may_restart(const Aside& row) {
  return row.kind == Kind::foreign && !row.above && !row.repeats &&
         row.entry.sequence <= kShortlyAfterStart;
}

/// Decides that the rows of the chain are a run of their own, or the old one gone on
/// after a rest. A restart set aside before them was one, too, since the old run
/// never went on after it.
void SequenceFold::found_run(SequenceListener& listener) {
  const auto chain = set_aside_.begin() + static_cast<std::ptrdiff_t>(chain_start_);
  const auto start = std::find_if(set_aside_.begin(), chain, may_restart);
  const std::vector<Aside> rows(start, set_aside_.end());
  set_aside_.erase(start, set_aside_.end());
  give_to_run(set_aside_.size(), listener);
  forget_chain();
  const Aside& first = rows.front();
  if (!is_of_run(first.kind)) {
    early_.clear();
    run_.end();
    listener.on_break(first.entry.time_ns, first.above ? BreakKind::jump : BreakKind::reset);
  }
  for (const Aside& row : rows) add(row.entry, listener);
}

void SequenceFold::finish(SequenceListener& listener) {
  if (set_aside_.empty()) return;
  const Aside& first = set_aside_[static_cast<std::size_t>(chain_start_)];
  const bool restarted =
      !first.above && (chain_length_ >= kRunLength || first.entry.sequence <= kShortlyAfterStart);
  if (chain_is_decided() && (restarted || is_of_run(first.kind))) return found_run(listener);
  give_to_run(set_aside_.size(), listener);
}

}  // namespace fieldfare::evidence::internal
