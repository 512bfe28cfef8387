// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <algorithm>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/app/arrival_queue.h"
#include "fieldfare/app/inlet_plan.h"
#include "fieldfare/source/source.h"
#include "fieldfare/store/records.h"
#include "fieldfare/wire/stream_decoder.h"

namespace fieldfare::app {

/// Puts what one source has into the queue. Lives on the loop's thread.
class InletSink : public source::Sink {
 public:
  InletSink(InletNumber number, ArrivalQueue& queue) : number_{number}, queue_{queue} {}

  void take(const source::Arrival& arrival) override { queue_.put(number_, arrival); }
  void change(const source::Change& change) override {
    queue_.put(QueuedEvent{QueuedChange{number_, change}});
  }
  void repeated(Instant, std::size_t octets) override {
    queue_.put(QueuedEvent{QueuedRepeat{number_, octets}});
  }
  void overrun(Instant, const std::string& what) override {
    queue_.put(QueuedEvent{QueuedOverrun{number_, what}});
  }

 private:
  InletNumber number_;
  ArrivalQueue& queue_;
};

/// A stretch of listening, as far as it is known.
struct Awake {
  Instant from;
  Instant to;
};

/// One source as the thread that reads and stores knows it.
class Inlet {
 public:
  /// A hole between two signs of life longer than this is a machine that slept.
  static constexpr Duration kLongestBlink{5LL * 1'000'000'000};

  /// The mark of the place that lies some octets before another; nothing where it
  /// can't be found any more.
  using MarkBefore =
      std::function<std::optional<std::uint64_t>(std::uint64_t mark, std::uint64_t octets)>;

  Inlet(InletPlan plan, fleet::Labels& labels, const wire::DecoderOptions& options,
        MarkBefore mark_before);

  const InletPlan& plan() const { return plan_; }
  const std::string& receiver() const { return plan_.receiver; }

  /// Goes on from what an earlier run stored.
  void take_up(const store::SourceTotals& totals) { before_ = totals; }
  void take_up(std::vector<std::uint64_t> marks);

  /// The first line of a log that is gone on with in its middle.
  void resume(std::string_view first_line);

  /// Reads what arrived. `out` gets the hearings.
  void read(const QueuedArrival& arrival, std::span<const std::uint8_t> octets,
            wire::HearingStream& out);
  void change(const source::Change& change, wire::HearingStream& out);
  /// Nothing more will come in this run.
  void end(Instant at, wire::HearingStream& out);
  void repeat() { ++repeated_; }
  /// We are awake. Gives the stretch that ended, where we were not in between.
  std::optional<Awake> tick(Instant at);

  /// We were awake up to then, as somebody noted at that time.
  void note_awake(Instant at) {
    if (awake_) awake_->to = std::max(awake_->to, at);
  }

  bool is_up() const { return awake_.has_value(); }
  bool has_ended() const { return condition_ == source::Condition::ended; }
  /// The stretch of listening so far, or the one that has just ended.
  std::optional<Awake> awake() const { return awake_ ? awake_ : last_awake_; }
  void forget_last_stretch() { last_awake_.reset(); }

  std::uint64_t last_ticket() const { return last_ticket_; }
  /// What the source is to be told at its next start.
  std::span<const std::uint64_t> marks() const;

  /// Of all listening so far, earlier runs included.
  store::SourceTotals totals(Instant now) const;
  /// Of this run alone.
  store::SourceTotals run(Instant now) const;

  /// Says once that bytes come but no frames, as they do at a wrong speed.
  std::optional<std::string> suspicion();

 private:
  void note_mark(std::uint64_t mark);
  bool is_joined(const source::Change& change) const;

  InletPlan plan_;
  wire::StreamDecoder decoder_;
  MarkBefore mark_before_;
  source::Condition condition_ = source::Condition::down;
  std::optional<Awake> awake_;
  std::optional<Awake> last_awake_;
  std::uint64_t last_ticket_ = 0;
  std::vector<std::uint64_t> marks_;
  std::uint64_t repeated_ = 0;
  bool was_suspicious_ = false;
  store::SourceTotals before_;
};

}  // namespace fieldfare::app
