// SPDX-License-Identifier: Apache-2.0
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>

#include "fieldfare/site/load.h"

// The same bytes as a site and as a sheet. Whatever they are, there is a site or
// at least one complaint.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text{reinterpret_cast<const char*>(data), size};
  const auto loaded = fieldfare::site::load_site({"", text, {{"sheets/fuzz.toml", text}}});
  if (!loaded && loaded.error().empty()) std::abort();
  return 0;
}
