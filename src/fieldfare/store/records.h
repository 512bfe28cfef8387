// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/base/complaint.h"
#include "fieldfare/base/instant.h"
#include "fieldfare/base/result.h"
#include "fieldfare/fleet/hearing.h"
#include "fieldfare/wire/stream_ledger.h"

namespace fieldfare::store {

/// What an operation gives that only succeeds or fails.
struct Done {};
using Outcome = Result<Done, Complaint>;

/// A hearing and its number in the order of arrival, from 1 on. Numbers are never
/// used twice; there may be gaps.
struct StoredHearing {
  std::int64_t arrival = 0;
  fleet::Hearing hearing;  ///< `readings` stay valid until the next hearing
};

/// Evidence folded so far, as bytes that only their maker reads.
struct Checkpoint {
  std::optional<fleet::NodeIndex> node;  ///< nothing: what belongs to no single node
  std::int64_t watermark = 0;            ///< the last arrival that was folded
  std::int64_t version = 0;              ///< of the bytes, as their maker counts
  std::string state;
};

/// Something that happened to the roster. Never changed once it is recorded.
struct RosterEvent {
  std::int64_t id = 0;  ///< given when it is recorded; ascending
  Instant at;
  std::string who;
  std::optional<fleet::NodeIndex> node;  ///< nothing: the site as a whole
  std::string what;                      ///< e.g. the stage or the setting that changed
  std::optional<std::string> before;
  std::optional<std::string> after;
  std::string why;
};

/// A row that could not be taken.
struct SkippedRow {
  std::uint64_t line = 0;  ///< from 1
  std::string why;
  std::string quote;  ///< cut to kLongestQuote bytes
};

/// How far a file was taken. A file that begins as another one did is that other
/// one, grown: what is compared are the first kHeadBytes of what was taken, or all
/// of it where that is less.
struct Import {
  static constexpr std::size_t kHeadBytes = 64 * 1024;
  static constexpr std::size_t kMostSkips = 1000;  ///< rows kept of one import; all are counted
  static constexpr std::size_t kLongestQuote = 400;

  std::int64_t id = 0;            ///< given by the store
  std::string name;               ///< of the file, for people
  std::uint64_t size_bytes = 0;   ///< when it was last looked at
  std::uint64_t bytes_taken = 0;  ///< of the text, unpacked where it was compressed
  std::uint64_t rows_taken = 0;
  std::uint64_t rows_skipped = 0;
  Instant at;  ///< when that was
};

/// A stretch of time in which a source was listened to, both ends as the
/// listener's clock told them.
struct Listening {
  std::string source;  ///< name of the receiver it belongs to
  Instant from;
  Instant to;
};

/// What one source handed over, as totals since its first listening.
struct SourceTotals {
  std::string source;
  std::string endpoint;  ///< URL, without secrets
  wire::StreamLedger ledger;
  std::uint64_t repeated = 0;       ///< messages that came again and were left out
  std::uint64_t dropped_bytes = 0;  ///< not taken, as the disk didn't keep up
  Instant at;                       ///< when these were the totals
};

/// Which source a receiver's hearings came through last.
struct ReceiverSource {
  std::string receiver;
  std::string source;
};

/// Bytes that gave no hearing, kept so that somebody can find out why.
struct UnreadFrame {
  static constexpr std::size_t kLongest = 512;        ///< octets kept of one
  static constexpr std::size_t kMostOfSource = 2000;  ///< the newest are kept
  static constexpr std::size_t kLongestText = 400;    ///< bytes of `reason` and of `what`

  Instant at;
  std::string source;
  std::string reason;  ///< stable code
  std::string what;    ///< for people
  std::string octets;  ///< its beginning
  std::uint64_t length = 0;
};

}  // namespace fieldfare::store
