// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/internal/json_writer.h"

#include <cassert>
#include <cmath>
#include <utility>

#include "fieldfare/base/number_text.h"
#include "fieldfare/wire/excerpt.h"

namespace fieldfare::render::internal {

void JsonWriter::open(std::string_view key, char bracket) {
  begin(key);
  out_ += bracket;
  has_members_.push_back(false);
}

void JsonWriter::close(char bracket) {
  const bool had_members = has_members_.back();
  has_members_.pop_back();
  if (had_members) {
    out_ += '\n';
    out_.append(2 * has_members_.size(), ' ');
  }
  out_ += bracket;
}

void JsonWriter::begin(std::string_view key) {
  if (has_members_.empty()) return;
  if (has_members_.back()) out_ += ',';
  has_members_.back() = true;
  out_ += '\n';
  out_.append(2 * has_members_.size(), ' ');
  if (key.empty()) return;
  quote(key);
  out_ += ": ";
}

void JsonWriter::put_raw(std::string_view key, std::string_view raw) {
  begin(key);
  out_ += raw;
}

void JsonWriter::put(std::string_view key, std::string_view text) {
  begin(key);
  quote(text);
}

void JsonWriter::put(std::string_view key, double number) {
  if (!std::isfinite(number)) return;
  put_raw(key, number_text(number));
}

void JsonWriter::put(std::string_view key, std::uint64_t number) {
  put_raw(key, std::to_string(number));
}

void JsonWriter::quote(std::string_view text) {
  constexpr std::string_view kHex = "0123456789abcdef";
  out_ += '"';
  while (!text.empty()) {
    const std::size_t size = wire::utf8_character_size(text);
    const auto first = static_cast<unsigned char>(text.front());
    if (size == 0) {
      out_ += "\xEF\xBF\xBD";
    } else if (first == '"' || first == '\\') {
      out_ += '\\';
      out_ += text.front();
    } else if (first < 0x20) {
      out_ += "\\u00";
      out_ += kHex[first >> 4];
      out_ += kHex[first & 0xF];
    } else {
      out_ += text.substr(0, size);
    }
    text.remove_prefix(size == 0 ? 1 : size);
  }
  out_ += '"';
}

std::string JsonWriter::finish() {
  assert(has_members_.empty());
  out_ += '\n';
  return std::move(out_);
}

}  // namespace fieldfare::render::internal
