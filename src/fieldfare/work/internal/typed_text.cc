// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/work/internal/typed_text.h"

#include <algorithm>

#include "fieldfare/base/number_text.h"
#include "fieldfare/base/utf8.h"

namespace fieldfare::work::internal {
namespace {

bool is_field_name(std::string_view name) {
  const auto fits = [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_';
  };
  return !name.empty() && name.front() >= 'a' && name.front() <= 'z' &&
         name.find('_') != std::string_view::npos && std::all_of(name.begin(), name.end(), fits);
}

}  // namespace

std::size_t characters_in(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char byte) {
    return (static_cast<unsigned char>(byte) & 0xC0) != 0x80;
  }));
}

void append_utf8(std::string& text, char32_t c) {
  const auto tail = [c](int shift) { return static_cast<char>(0x80 | ((c >> shift) & 0x3F)); };
  if (c < 0x80) {
    text += static_cast<char>(c);
  } else if (c < 0x800) {
    text += static_cast<char>(0xC0 | (c >> 6));
    text += tail(0);
  } else if (c < 0x10000) {
    text += static_cast<char>(0xE0 | (c >> 12));
    text += tail(6);
    text += tail(0);
  } else {
    text += static_cast<char>(0xF0 | (c >> 18));
    text += tail(12);
    text += tail(6);
    text += tail(0);
  }
}

bool is_text(char32_t c) {
  std::string text;
  if (c > 0x10FFFF) return false;
  append_utf8(text, c);
  return utf8_character_size(text) == text.size() && !is_control(text);
}

std::optional<char> hex_digit(char32_t c) {
  if (c >= U'0' && c <= U'9') return static_cast<char>(c);
  if (c >= U'A' && c <= U'F') return static_cast<char>(c);
  if (c >= U'a' && c <= U'f') return static_cast<char>(c - U'a' + U'A');
  return std::nullopt;
}

bool is_hex(std::string_view text) {
  return std::all_of(text.begin(), text.end(),
                     [](char c) { return hex_digit(static_cast<unsigned char>(c)).has_value(); });
}

bool is_separator(char32_t c) { return c == U':' || c == U'-' || c == U' ' || c == U'.'; }

std::string trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(' ');
  if (first == std::string_view::npos) return {};
  return std::string{text.substr(first, text.find_last_not_of(' ') - first + 1)};
}

std::optional<TypedValue> value_in(std::string_view typed, const DeskRow& row) {
  std::string text{typed};
  std::replace(text.begin(), text.end(), '=', ' ');
  std::replace(text.begin(), text.end(), ':', ' ');
  std::replace(text.begin(), text.end(), ',', '.');
  text = trimmed(text);
  const std::size_t blank = text.find(' ');
  TypedValue value;
  std::string number = text;
  if (blank != std::string::npos) {
    value.field = text.substr(0, blank);
    number = trimmed(std::string_view{text}.substr(blank));
  } else if (row.readings.size() == 1) {
    value.field = row.readings.front().name;
  }
  const auto parsed = parse_number(number);
  if (!parsed || !is_field_name(value.field)) return std::nullopt;
  value.value = *parsed;
  value.tolerance = half_of_last_digit(number);
  return value;
}

}  // namespace fieldfare::work::internal
