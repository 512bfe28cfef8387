// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/frame_line.h"

#include <algorithm>

#include "fieldfare/site/sheet_words.h"

namespace fieldfare::render {
namespace {

std::string framing_and_body(const fleet::FrameFacts& frame) {
  const bool is_message = frame.framing == fleet::Framing::none;
  std::string words{is_message ? "messages" : site::framing_word(frame.framing)};
  if (frame.body != fleet::Body::binary) {
    words += ' ';
    words += site::body_word(frame.body);
  }
  return words;
}

/// Where a field stands, as far as that is short.
std::string place_words(const fleet::FieldPlace& place) {
  if (const auto* octet = std::get_if<fleet::AtOctet>(&place); octet && octet->at) {
    return " at " + std::to_string(*octet->at);
  }
  if (const auto* pointer = std::get_if<fleet::AtPointer>(&place)) return " at " + pointer->pointer;
  if (const auto* column = std::get_if<fleet::AtColumn>(&place)) {
    return " in column " + std::to_string(column->column);
  }
  if (const auto* key = std::get_if<fleet::AtKey>(&place)) return " behind " + key->key;
  return {};
}

void add_field(std::string& line, const fleet::FrameFacts& frame, fleet::FieldRole role,
               const char* word) {
  const auto found = std::find_if(frame.fields.begin(), frame.fields.end(),
                                  [&](const auto& field) { return field.role == role; });
  if (found != frame.fields.end()) line += std::string{", "} + word + place_words(found->place);
}

}  // namespace

std::string frame_line(const fleet::FrameFacts& frame) {
  std::string line = framing_and_body(frame);
  if (frame.check) line += ", " + site::check_name(*frame.check);
  add_field(line, frame, fleet::FieldRole::address, "address");
  add_field(line, frame, fleet::FieldRole::name, "name");
  add_field(line, frame, fleet::FieldRole::sequence, "counter");
  const auto readings = std::count_if(frame.fields.begin(), frame.fields.end(), [](const auto& f) {
    return f.role == fleet::FieldRole::reading;
  });
  if (readings > 0)
    line += ", " + std::to_string(readings) + (readings == 1 ? " reading" : " readings");
  return line;
}

}  // namespace fieldfare::render
