// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/utf8.h"

#include <array>

namespace fieldfare {
namespace {

unsigned byte_at(std::string_view bytes, std::size_t at) {
  return static_cast<unsigned char>(bytes[at]);
}

bool in_range(unsigned byte, unsigned low, unsigned high) { return byte >= low && byte <= high; }

/// The range of the second byte depends on the first; it is what rules out
/// overlong forms, surrogates and code points past U+10FFFF.
struct Lead {
  unsigned first, last;  ///< lead bytes
  unsigned low, high;    ///< second byte
  std::size_t size;
};
constexpr std::array<Lead, 8> kLeads = {{
    {0xC2, 0xDF, 0x80, 0xBF, 2},
    {0xE0, 0xE0, 0xA0, 0xBF, 3},
    {0xE1, 0xEC, 0x80, 0xBF, 3},
    {0xED, 0xED, 0x80, 0x9F, 3},
    {0xEE, 0xEF, 0x80, 0xBF, 3},
    {0xF0, 0xF0, 0x90, 0xBF, 4},
    {0xF1, 0xF3, 0x80, 0xBF, 4},
    {0xF4, 0xF4, 0x80, 0x8F, 4},
}};

}  // namespace

std::size_t utf8_character_size(std::string_view bytes) {
  if (bytes.empty()) return 0;
  const unsigned first = byte_at(bytes, 0);
  if (first < 0x80) return 1;
  for (const Lead& lead : kLeads) {
    if (!in_range(first, lead.first, lead.last)) continue;
    if (bytes.size() < lead.size || !in_range(byte_at(bytes, 1), lead.low, lead.high)) return 0;
    for (std::size_t i = 2; i < lead.size; ++i) {
      if (!in_range(byte_at(bytes, i), 0x80, 0xBF)) return 0;
    }
    return lead.size;
  }
  return 0;
}

std::size_t well_formed_size(std::string_view bytes) {
  std::size_t at = 0;
  while (const std::size_t size = utf8_character_size(bytes.substr(at))) at += size;
  return at;
}

bool is_control(std::string_view character) {
  const unsigned first = byte_at(character, 0);
  const bool c1 = character.size() == 2 && first == 0xC2 && byte_at(character, 1) < 0xA0;
  return first < 0x20 || first == 0x7F || c1;
}

}  // namespace fieldfare
