// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/app/trouble.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/wire/hearing_sink.h"
#include "fieldfare/wire/ledger.h"

namespace fieldfare::app {

/// A log to read: a file, plain or gzip, or `-` for standard input.
struct LogFile {
  std::string path;
  /// Where reading ends: a file that grows is read up to the end it had when it
  /// was first opened, so that a second reading sees the same rows. Absent
  /// before the first reading, and for what isn't a regular file.
  std::optional<std::uint64_t> end;
  bool regular = false;  ///< can be read again; known after the first reading
};

struct LogReading {
  std::vector<Complaint> notes;  ///< what may not have been meant, each once
  std::optional<Complaint>
      torn;  ///< packed bytes broke off or were damaged; what came before stands
};

/// Reads a log through. Fails where it can't be opened or is no log at all.
Result<LogReading, Trouble> read_log(LogFile& file, fleet::Labels& labels, wire::Ledger& ledger,
                                     const wire::HearingSink& sink);

}  // namespace fieldfare::app
