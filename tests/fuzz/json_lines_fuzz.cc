// SPDX-License-Identifier: Apache-2.0
#include "log_property.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  return fieldfare::fuzz::check_log(data, size, fieldfare::wire::LogFormat::json_lines);
}
