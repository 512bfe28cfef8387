// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/text_line.h"

#include "fieldfare/base/instant.h"
#include "fieldfare/wire/internal/report_builder.h"

namespace fieldfare::wire {
namespace {

using fleet::FieldLayout;
using fleet::FieldRole;
using fleet::TextCoding;

bool is_digit(char c) { return c >= '0' && c <= '9'; }

bool is_hex_digit(char c) {
  return is_digit(c) || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F');
}

template <class Is>
std::size_t run_of(std::string_view text, Is is) {
  std::size_t size = 0;
  while (size < text.size() && is(text[size])) ++size;
  return size;
}

/// `e-7`; 0 where what stands there is no exponent.
std::size_t exponent_size(std::string_view text) {
  if (text.empty() || (text[0] != 'e' && text[0] != 'E')) return 0;
  const std::size_t sign = text.size() > 1 && (text[1] == '-' || text[1] == '+') ? 1 : 0;
  const std::size_t digits = run_of(text.substr(1 + sign), is_digit);
  return digits == 0 ? 0 : 1 + sign + digits;
}

std::size_t hex_size(std::string_view text) {
  const std::size_t mark = text.starts_with("0x") || text.starts_with("0X") ? 2 : 0;
  const std::size_t digits = run_of(text.substr(mark), is_hex_digit);
  return digits == 0 ? mark / 2 : mark + digits;
}

}  // namespace

std::string_view trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t") - first + 1);
}

bool wants_number(const FieldLayout& field) {
  switch (field.role) {
    case FieldRole::address:
    case FieldRole::name:
    case FieldRole::receiver:
    case FieldRole::payload:
      return false;
    default:
      return !field.equals;
  }
}

std::size_t number_size(std::string_view text, char decimal) {
  std::size_t size = !text.empty() && (text[0] == '-' || text[0] == '+') ? 1 : 0;
  const std::size_t digits = run_of(text.substr(size), is_digit);
  size += digits;
  std::size_t decimals = 0;
  if (size < text.size() && text[size] == decimal) {
    decimals = run_of(text.substr(size + 1), is_digit);
    if (decimals > 0) size += 1 + decimals;
  }
  return digits + decimals == 0 ? 0 : size + exponent_size(text.substr(size));
}

void TextLine::split(std::string_view line) {
  line_ = line;
  columns_.clear();
  if (frame_->separator == ' ') return split_at_blanks(line);
  for (;;) {
    const std::size_t end = line.find(frame_->separator);
    columns_.push_back(trimmed(line.substr(0, end)));
    if (end == std::string_view::npos) return;
    line.remove_prefix(end + 1);
  }
}

void TextLine::split_at_blanks(std::string_view line) {
  for (line = trimmed(line); !line.empty();) {
    const std::string_view column = line.substr(0, line.find_first_of(" \t"));
    columns_.push_back(column);
    line = trimmed(line.substr(column.size()));
  }
}

std::string_view TextLine::value_of(const FieldLayout& field, std::size_t repetition) const {
  if (const auto* const place = std::get_if<fleet::AtKey>(&field.place)) {
    return after_key(place->key);
  }
  if (const auto* const place = std::get_if<fleet::AfterText>(&field.place)) {
    return after_text(field, *place);
  }
  const auto& place = std::get<fleet::AtColumn>(field.place);
  return at(static_cast<std::size_t>(place.column) + repetition);
}

std::string_view TextLine::after_key(std::string_view key) const {
  for (const std::string_view column : columns_) {
    const std::size_t sign = column.find(frame_->assignment);
    if (sign == std::string_view::npos || trimmed(column.substr(0, sign)) != key) continue;
    return trimmed(column.substr(sign + 1));
  }
  return {};
}

std::string_view TextLine::after_text(const FieldLayout& field,
                                      const fleet::AfterText& place) const {
  const std::string_view within =
      place.column ? at(static_cast<std::size_t>(*place.column)) : line_;
  const std::size_t found = within.find(place.text);
  if (found == std::string_view::npos) return {};
  const std::string_view rest = trimmed(within.substr(found + place.text.size()));
  const std::string_view whole = token(rest);
  if (!wants_number(field) || !field.words.empty()) return whole;
  if (field.role == FieldRole::time && parse_rfc3339(whole)) return whole;
  const bool is_hex = coding_of(field) == TextCoding::hex;
  // Of hex digits that the sheet doesn't know as such, the leading 0 would be all.
  if (!is_hex && rest.starts_with("0x")) return whole;
  const std::size_t size = is_hex ? hex_size(rest) : number_size(rest, frame_->decimal);
  return size > 0 ? rest.substr(0, size) : whole;
}

/// Up to the next blank or separator, without the signs that end a part of a sentence.
std::string_view TextLine::token(std::string_view rest) const {
  const auto ends = [&](char c) { return c == ' ' || c == '\t' || c == frame_->separator; };
  std::string_view token = rest.substr(0, run_of(rest, [&](char c) { return !ends(c); }));
  while (token.ends_with(',') || token.ends_with(';') || token.ends_with(':')) {
    token.remove_suffix(1);
  }
  return token;
}

}  // namespace fieldfare::wire
