// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/frame.h"

// What came in from sources, with the time of its coming, as lines of text:
//
//     2026-03-02T07:00:00Z r1 up
//     2026-03-02T07:00:00.12Z r1 stream 7E024D21...
//     2026-03-02T07:00:00.34Z gw message 7B2273... dairy/cave-1
//
// docs/formats/byte-log.md.
namespace fieldfare::wire {

enum class ByteEvent : std::uint8_t {
  stream,   ///< a stretch of a stream
  message,  ///< a datagram or a message of a broker: whole in itself
  waited,   ///< a message that had waited at a broker: its coming says nothing of when it was heard
  up,       ///< listened from then on; what a stream held before ended there
  alive,    ///< listened still
  down,     ///< not listened any more
  said,     ///< somebody said something about a node
};

/// One line.
struct LoggedBytes {
  std::optional<Instant> at;  ///< hand-written lines may leave it out
  std::string receiver;       ///< empty where the line names none; of `said`: whom it is about
  ByteEvent event = ByteEvent::message;
  fleet::Octets octets;  ///< of `stream`, `message` and `waited`
  std::string topic;     ///< of a message; may be empty. Of `said`: what was said

  bool operator==(const LoggedBytes&) const = default;
};

/// The line, its line feed included.
std::string byte_log_line(const LoggedBytes& logged);

enum class ByteLine : std::uint8_t { event, nothing, unreadable };

/// Reads a line, without its line feed. A comment (`#`) and an empty line are
/// nothing. Also taken, for lines written by hand: hex alone, with or without blanks
/// between octets, and the same behind a time; both are messages.
ByteLine read_byte_line(std::string_view line, LoggedBytes& into);

}  // namespace fieldfare::wire
