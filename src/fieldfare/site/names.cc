// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/names.h"

#include "fieldfare/site/internal/frame_writer.h"
#include "fieldfare/site/internal/tree.h"
#include "fieldfare/site/internal/values.h"

namespace fieldfare::site {

std::string fitting_name(std::string_view text, std::string_view otherwise) {
  std::string clean;
  for (const char c : text) {
    if (static_cast<unsigned char>(c) >= 0x20 && c != 0x7F) clean += c;
  }
  const std::size_t from = clean.find_first_not_of(' ');
  const std::size_t to = clean.find_last_not_of(' ');
  clean = from == std::string::npos ? "" : clean.substr(from, to - from + 1);
  // What is not UTF-8 shows when it is read back.
  const bool fits = is_name(clean) && parse_tree("name = " + toml_text(clean), "").has_value();
  return fits ? clean : std::string{otherwise};
}

}  // namespace fieldfare::site
