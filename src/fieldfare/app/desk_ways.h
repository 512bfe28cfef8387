// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

#include "fieldfare/app/desk_record.h"
#include "fieldfare/app/inlet.h"
#include "fieldfare/source/loop.h"

namespace fieldfare::app {

/// One event of a desk, with what its source is to be told at its next start.
struct DeskEvent {
  wire::LoggedBytes logged;
  std::uint64_t mark = 0;
};

/// A way in, as far as whoever listens must know it.
struct DeskWay {
  InletPlan plan;
  source::Change change;  ///< the last one of its source
  bool is_up = false;
  std::uint64_t octets = 0;
  std::uint64_t mark = 0;  ///< of its last arrival
};

/// The sources of a desk, and the record that everything of them goes into first.
class DeskWays {
 public:
  DeskWays(const std::vector<InletPlan>& plans, source::Clock clock, DeskRecord record);
  ~DeskWays();
  DeskWays(const DeskWays&) = delete;
  DeskWays& operator=(const DeskWays&) = delete;

  const DeskRecord& record() const { return record_; }
  const std::vector<DeskWay>& ways() const { return ways_; }
  const DeskWay* find(std::string_view receiver) const;

  void start();
  /// What has come since the last call, after `patience` at most; it is on disk by
  /// then, unless the disk refuses, which record().trouble() tells: it is written later
  /// then, and the sources aren't told that it is. Valid until the next call.
  std::span<const DeskEvent> take(std::chrono::milliseconds patience);
  /// No more comes from the sources. What came before is still to be taken: take()
  /// gives nothing once all of that is done.
  void stop();
  /// The end of listening, as events.
  std::span<const DeskEvent> close();

  /// Into the record, at once: what somebody said.
  void say(const std::string& about, const std::string& what);
  bool remove_record_if_empty() { return record_.remove_if_empty(); }

  /// Has the sources wait while `high` holds or too much waits here.
  void balance_load(bool high);

  /// The process is asked to end.
  bool is_asked_to_end() const { return haul_.ended; }
  bool have_ended() const;

  /// What a source lost before it came here; empty where nothing was since the last call.
  std::string take_loss();

 private:
  void collect(const QueuedArrival& arrival);
  void collect(const QueuedChange& queued);
  void collect(const QueuedRepeat& repeat);
  void collect(const QueuedOverrun& overrun);
  void collect(const QueuedTick& tick);
  void note(InletNumber number, Instant at, wire::ByteEvent event, fleet::Octets octets);
  bool keep();

  struct Behind {
    std::unique_ptr<InletSink> sink;
    std::unique_ptr<source::Source> source;
    Instant last_sign;  ///< of life in the record
    std::uint64_t ticket = 0;
  };

  source::Clock clock_;
  DeskRecord record_;
  std::vector<DeskWay> ways_;
  ArrivalQueue queue_;
  source::Loop loop_;
  std::vector<Behind> behind_;
  std::thread serving_;
  Haul haul_;
  std::vector<DeskEvent> events_;
  std::optional<Instant> last_tick_;
  std::string loss_;
  bool paused_ = false;
};

}  // namespace fieldfare::app
