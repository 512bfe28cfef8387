// SPDX-License-Identifier: Apache-2.0
// Whatever stands in a URL, it is taken or refused with a place in it, and what is
// taken reads back from its own text.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "fieldfare/fleet/endpoint.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace fieldfare;
  const std::string_view url{reinterpret_cast<const char*>(data), size};
  const auto endpoint = fleet::parse_endpoint(url);
  if (!endpoint) {
    const std::size_t column = endpoint.error().place.column;
    if (column < 1 || column > size + 1 || endpoint.error().expected.empty()) std::abort();
    return 0;
  }
  const auto again = fleet::parse_endpoint(fleet::text_of(*endpoint));
  // Percent-encoding may make a URL too long, and only that.
  if (!again && fleet::text_of(*endpoint).size() <= 2'048) std::abort();
  if (again && *again != *endpoint) std::abort();
  return 0;
}
