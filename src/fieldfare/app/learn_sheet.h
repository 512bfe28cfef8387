// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fieldfare/app/trouble.h"
#include "fieldfare/learn/learn.h"
#include "fieldfare/source/source.h"

namespace fieldfare::app {

/// What to learn a sheet from.
struct LearnRequest {
  /// A log of bytes; a file of anything else, whose bytes nobody timed; `-` for
  /// standard input; a device such as `/dev/ttyUSB0`; or the URL of a source.
  std::string from;
  learn::Sample hints;                      ///< labels, provocations and values; no arrivals
  Duration how_long{60LL * 1'000'000'000};  ///< that a source is listened to
  std::string keep_file;                    ///< where a source's bytes go
  source::Clock clock;
};

struct LearnOutcome {
  learn::Learnt learnt;
  std::vector<std::string> notes;  ///< about the input, such as lines that can't be read
  std::string kept_in;             ///< the file with a source's bytes; empty: they were in one
};

Result<LearnOutcome, Trouble> learn_sheet(const LearnRequest& request);

}  // namespace fieldfare::app
