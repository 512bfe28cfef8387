// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/excerpt.h"

namespace fieldfare::wire {
namespace {

void append_escaped(std::string& out, std::string_view bytes) {
  constexpr std::string_view kDigits = "0123456789ABCDEF";
  for (const char c : bytes) {
    const auto byte = static_cast<unsigned char>(c);
    out += "\\x";
    out += kDigits[byte >> 4];
    out += kDigits[byte & 15];
  }
}

}  // namespace

std::string excerpt(std::string_view bytes, std::size_t most) {
  std::string out;
  std::size_t at = 0;
  while (at < bytes.size()) {
    const std::size_t size = utf8_character_size(bytes.substr(at));
    const std::size_t taken = size == 0 ? 1 : size;
    if (at + taken > most) break;
    const std::string_view character = bytes.substr(at, taken);
    if (size == 0 || is_control(character)) {
      append_escaped(out, character);
    } else {
      out += character;
    }
    at += taken;
  }
  if (at < bytes.size()) out += "...";
  return out;
}

}  // namespace fieldfare::wire
