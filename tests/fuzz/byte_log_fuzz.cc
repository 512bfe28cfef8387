// SPDX-License-Identifier: Apache-2.0
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "fieldfare/wire/byte_log.h"

/// Any line is read or refused, and what was read is written so that it reads the same.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace fieldfare::wire;
  LoggedBytes first;
  if (read_byte_line({reinterpret_cast<const char*>(data), size}, first) != ByteLine::event) {
    return 0;
  }
  const std::string line = byte_log_line(first);
  LoggedBytes second;
  if (read_byte_line({line.data(), line.size() - 1}, second) != ByteLine::event) std::abort();
  if (!(first == second)) std::abort();
  return 0;
}
