// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string>

#include "fieldfare/base/result.h"

namespace fieldfare::calc {

using Mac = std::array<std::uint8_t, 16>;

/// AES-CMAC with the 128-bit key that a file holds: 32 hex digits (blanks and
/// line ends around them allowed) or exactly 16 octets. The key is wiped from memory
/// and never appears in an error, which names the file only.
/// Source: RFC 4493; computed by OpenSSL.
Result<Mac, std::string> aes_cmac(const std::string& key_file,
                                  std::span<const std::uint8_t> message);

}  // namespace fieldfare::calc
