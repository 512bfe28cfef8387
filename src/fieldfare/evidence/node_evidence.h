// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/base/instant.h"
#include "fieldfare/evidence/deafness.h"
#include "fieldfare/fleet/hearing.h"

namespace fieldfare::evidence {

/// An estimate with the interval that holds the truth at the stated confidence.
struct Estimate {
  double value;
  double low;
  double high;
};

/// What was heard, counted.
/// hearings == reports + duplicates + further_hearings + strays, always.
struct Heard {
  std::uint64_t hearings = 0;          ///< rows accepted
  std::uint64_t reports = 0;           ///< distinct reports
  std::uint64_t duplicates = 0;        ///< the same report again through the same receiver
  std::uint64_t further_hearings = 0;  ///< the same report through another receiver
  std::optional<Instant> first;
  std::optional<Instant> last;
};

enum class BreakKind : std::uint8_t {
  reset,        ///< the counter fell back and went on from there
  jump,         ///< the counter ran ahead of the clock and went on from there
  stood_still,  ///< the same number again after a long silence: the node slept
};

/// A place where one run of the counter ends and the next begins.
struct CounterBreak {
  Instant at;  ///< first hearing afterwards
  BreakKind kind;
  Duration silent;  ///< since the last report before
};

/// What the counter tells. Absent altogether where a node sends none.
struct Sequence {
  std::uint64_t expected = 0;        ///< sum over runs of last - first + 1
  std::uint64_t missed = 0;          ///< expected less the numbered reports heard
  std::vector<CounterBreak> breaks;  ///< the latest kMostEvents
  std::uint64_t earlier_breaks = 0;  ///< older ones that are only counted
  std::uint64_t strays = 0;          ///< rows with a number that no run contains
};

struct IntervalChange {
  Instant at;  ///< first hearing that came at the new interval
  Duration from;
  Duration to;
};

/// How regularly the node reports, since its interval last changed.
struct Cadence {
  double interval_s = 0;             ///< long-run time between consecutive sent reports
  std::optional<Estimate> interval;  ///< absent with fewer than three reports
  double jitter_s =
      0;  ///< standard deviation of one report about its beat, a step of wander included
  std::vector<IntervalChange> changes;
  std::uint64_t earlier_changes = 0;
};

/// Transitions between heard (good) and missed (bad) along the counter, receiver
/// silences left out.
struct LossChain {
  std::uint64_t good_good = 0;
  std::uint64_t good_bad = 0;
  std::uint64_t bad_good = 0;
  std::uint64_t bad_bad = 0;

  std::uint64_t heard = 0;
  std::uint64_t expected = 0;
};

/// Signal strength at the receiver that hears the node best.
struct Signal {
  fleet::ReceiverIndex receiver{};
  std::uint64_t reports = 0;
  double mean_dbm = 0;
  double sd_db = 0;
};

/// What one receiver heard of one node.
struct Link {
  fleet::ReceiverIndex receiver{};
  std::uint64_t reports = 0;  ///< distinct reports it heard
  Instant first;
  Instant last;
  std::uint64_t rssi_count = 0;
  double rssi_mean_dbm = 0;
  double rssi_sd_db = 0;
  bool usual = true;  ///< lately it heard at least half as much of the node as any other did
};

/// One of the last reports, for drawing against the beat.
struct RecentReport {
  Instant time;
  std::uint64_t number;            ///< unwrapped within its run
  bool starts_run = false;         ///< first after a reset, a jump or a sleep
  std::optional<double> rssi_dbm;  ///< strongest
  bool batched = false;            ///< came with others; `time` is the delivery's
};

/// Everything that was heard of one node and what follows from it.
struct NodeEvidence {
  fleet::NodeIndex node{};
  Heard heard;
  std::optional<Sequence> sequence;
  /// Its counter runs for several listeners: sequence and chain are left out, as
  /// nobody can tell what of the missing numbers was lost.
  bool counter_shared = false;
  std::optional<Cadence> cadence;
  std::optional<LossChain> chain;
  std::optional<Duration> longest_gap;  ///< between first hearings of consecutive reports, batched
                                        ///< ones left out
  std::vector<Link> links;              ///< by receiver name
  std::optional<Signal> signal;
  std::optional<double> supply_last_v;
  std::uint64_t implausible_rows = 0;  ///< rows with a value that cannot be
  bool doubtful_origin = false;        ///< nothing but a row or two of implausible values: no node
  std::vector<RecentReport> recent;    ///< oldest first
};

/// A stretch in which a receiver heard none of its nodes, or nobody listened to it.
struct ReceiverSilence {
  fleet::ReceiverIndex receiver{};
  Instant from;              ///< last hearing before, or when listening ended
  Instant to;                ///< first hearing afterwards, or when listening began again
  std::uint64_t missed = 0;  ///< reports of all its nodes that nobody heard meanwhile
  std::uint32_t nodes = 0;   ///< how many nodes share it
  bool listening = true;     ///< false: known to be our own deafness
};

struct FleetEvidence {
  std::vector<NodeEvidence> nodes;                 ///< by label: roster name or address
  std::vector<ReceiverSilence> receiver_silences;  ///< by time, then receiver name
  KnownDeafness deaf;                              ///< as far as the hearings don't belie it
};

}  // namespace fieldfare::evidence
