// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/frame.h"

// Bytes as they came in, with the time of their coming, as lines of text:
//
//     2026-03-02T07:00:00.120Z r1 stream 7E024D21...
//     2026-03-02T07:00:00.340Z gw message 7B2273... dairy/cave-1
//
// docs/formats/byte-log.md.
namespace fieldfare::wire {

/// One arrival.
struct LoggedBytes {
  std::optional<Instant> at;  ///< a line may leave it out
  std::string receiver;       ///< empty where the line names none
  bool whole = false;         ///< a datagram or a message
  fleet::Octets octets;
  std::string topic;
};

/// One arrival as a line, its line feed included.
std::string byte_log_line(const LoggedBytes& arrival);

enum class ByteLine : std::uint8_t { arrival, nothing, unreadable };

/// Reads a line, without its line feed. A comment (`#`) and an empty line are
/// nothing. Also taken: hex alone, with or without blanks between octets, which is a
/// message that nobody timed.
ByteLine read_byte_line(std::string_view line, LoggedBytes& into);

}  // namespace fieldfare::wire
