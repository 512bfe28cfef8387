// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>

#include "fieldfare/fleet/endpoint.h"
#include "fieldfare/source/internal/serial_line.h"

// What is told of a serial port.
namespace fieldfare::source {

struct LineWords {
  std::string what, remedy;
};

/// Which port it is about, and what is known of it.
struct LineCase {
  const std::filesystem::path& root;
  const std::string& device;  ///< that was tried
  const fleet::SerialEndpoint& endpoint;
  bool was_up = false;  ///< it was listened to before
};

/// Looks at the machine for what helps: what ports there are, who holds this one,
/// whose group it is.
LineWords words_of(const LineFailure& failure, const LineCase& about);

/// `listening to /dev/ttyUSB0 at 9600 baud, 8N1`
std::string listening_words(const fleet::SerialEndpoint& endpoint, const std::string& device);

std::string overrun_words(const fleet::SerialEndpoint& endpoint, std::uint32_t octets);

}  // namespace fieldfare::source
