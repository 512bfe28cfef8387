// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/app/trouble.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/wire/capture_reader.h"
#include "fieldfare/wire/hearing_sink.h"
#include "fieldfare/wire/ledger.h"

namespace fieldfare::app {

/// A log to read: a file or `-` for standard input; packed with gzip, xz or
/// Zstandard or not; CSV, JSON Lines or a capture. What it begins with decides.
struct LogFile {
  std::string path;
  /// Where reading ends: a file that grows is read up to the end it had when it
  /// was first opened, so that a second reading sees the same rows. Absent
  /// before the first reading, and for what isn't a regular file.
  std::optional<std::uint64_t> end;
  bool regular = false;           ///< can be read again; known after the first reading
  wire::CaptureSieve sieve = {};  ///< whose frames are kept, where it is a capture
};

/// The first bytes of a log, unpacked; told before any of its hearings.
using HeadSink = std::function<void(std::string_view head)>;
inline constexpr std::size_t kHeadBytes = std::size_t{64} * 1024;

struct LogReading {
  std::vector<Complaint> notes;  ///< what may not have been meant, each once
  std::uint64_t text_bytes = 0;  ///< of the log, unpacked
  /// Rows skipped for want of a line end: what a file that is still being
  /// written ends in.
  std::uint64_t unfinished_rows = 0;
  /// Packed bytes, or a capture, broke off or were damaged; what came before stands.
  std::optional<Complaint> torn;
};

/// Reads a log through. Fails where it can't be opened or is no log at all.
Result<LogReading, Trouble> read_log(LogFile& file, fleet::Labels& labels, wire::Ledger& ledger,
                                     const wire::HearingSink& sink, const HeadSink& head = {});

}  // namespace fieldfare::app
