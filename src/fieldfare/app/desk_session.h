// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/app/inlet_plan.h"
#include "fieldfare/app/trouble.h"
#include "fieldfare/fleet/sheet.h"
#include "fieldfare/learn/learn.h"
#include "fieldfare/site/load.h"
#include "fieldfare/source/source.h"
#include "fieldfare/work/desk.h"
#include "fieldfare/work/hand.h"

namespace fieldfare::app {

/// What to listen to with no site.
struct DeskRequest {
  std::vector<SpokenSource> sources;  ///< at least one
  std::vector<std::string> sheets;    ///< files of sheets; none: what the bytes mean is learnt
  std::string keep_file;             ///< where all bytes go; one of an earlier desk is gone on with
  std::string timezone = "UTC";      ///< of a site that is saved, an IANA name
  std::optional<Duration> how_long;  ///< absent: until asked to end, or all sources have ended
  source::Clock clock;
};

/// The person at the desk, as the session meets him.
class DeskHost {
 public:
  virtual ~DeskHost() = default;
  /// Shows the desk; returns what is to be done, after `patience` at most.
  virtual std::vector<work::Deed> turn(const work::DeskView& view,
                                       std::chrono::milliseconds patience) = 0;
  /// What became of a deed, in a sentence.
  virtual void answer(const std::string& what) = 0;
  virtual void remind(const work::Reminder& reminder) = 0;
  /// He goes on looking when nothing more can come.
  virtual bool outlasts_sources() const = 0;
};

struct DeskOutcome {
  work::DeskView view;  ///< at the end
  std::optional<learn::Learnt> learnt;
};

/// Listens, learns what the bytes mean, and keeps the desk, until the person leaves.
///
/// Every byte is on disk, in the file that is kept, before anything is made of it.
/// When a better description of the frames has been learnt, all bytes so far are
/// read again by it.
Result<DeskOutcome, Trouble> run_desk(const DeskRequest& request, DeskHost& host);

/// `fieldfare-20261125-143207.bytes`: a name for the kept file.
std::string keep_file_name(Instant now);

}  // namespace fieldfare::app
