// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/app/inlet_plan.h"
#include "fieldfare/app/trouble.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/source/ports.h"
#include "fieldfare/source/source.h"
#include "fieldfare/store/records.h"

namespace fieldfare::app {

/// Told while listening goes on, by the thread that called listen(). Each may be empty.
struct ListenEvents {
  /// A hearing that is stored, or, without a site, read.
  std::function<void(const fleet::Hearing&, const fleet::Labels&)> heard;
  /// A source came up, went down or ended.
  std::function<void(const std::string& receiver, const source::Change&)> changed;
  /// Something about a source, or (empty) about storing, that a person should know.
  std::function<void(const std::string& receiver, const std::string& what)> note;
};

struct ListenRequest {
  std::string folder;  ///< of the site; empty: nothing is stored
  std::vector<SpokenSource> sources;
  std::optional<Duration> how_long;  ///< absent: until asked to end, or all sources have ended
  source::Clock clock;
  ListenEvents events;
};

/// How long hearings took from their arrival to the disk.
struct StoringTimes {
  std::uint64_t hearings = 0;
  double median_ms = 0;
  double p99_ms = 0;
  double longest_ms = 0;
};

/// What one source handed over in this listening.
struct InletOutcome {
  store::SourceTotals run;    ///< of this run alone
  store::SourceTotals total;  ///< of all listening so far
};

struct ListenOutcome {
  Instant from;
  Instant to;
  std::vector<InletOutcome> inlets;
  std::uint64_t stored = 0;
  std::uint64_t not_stored = 0;  ///< came in, and could not be stored before the end
  StoringTimes storing;
};

/// Listens to all sources of a site at once and stores what is heard, until
/// `how_long` has passed, the process is asked to end, or every source has ended.
///
/// What came in is stored within about 50 ms, many hearings in one transaction;
/// a broker gets its acknowledgement after that. Where storing fails it goes on
/// trying and says so; sources wait meanwhile. One listener a site: a second one
/// is refused.
Result<ListenOutcome, Trouble> listen(const ListenRequest& request, const fleet::Site& site);

/// The serial ports of this machine.
std::vector<source::Port> serial_ports();

}  // namespace fieldfare::app
