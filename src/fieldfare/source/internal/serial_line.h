// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "fieldfare/base/result.h"
#include "fieldfare/fleet/endpoint.h"

namespace fieldfare::source {

enum class LineTrouble : std::uint8_t {
  missing,   ///< no such device, or nothing behind it
  rights,    ///< this user may not
  busy,      ///< somebody else has it
  no_port,   ///< a file of another kind
  settings,  ///< it can't do what it was asked for
  other,
};

struct LineFailure {
  LineTrouble trouble;
  int error = 0;  ///< of the system; 0 where it has none
};

/// Opens a serial port for reading, for this process alone, raw and without flow
/// control, and sets speed, data bits, parity and stop bits. It is not told
/// `hang up` when it is closed, so that a receiver isn't reset by every restart.
/// Returns its descriptor, which never blocks.
Result<int, LineFailure> open_line(const std::string& path, const fleet::SerialEndpoint& settings);

/// Octets that the port or its driver lost so far; nothing where it doesn't count.
std::optional<std::uint32_t> lost_octets(int descriptor);

}  // namespace fieldfare::source
