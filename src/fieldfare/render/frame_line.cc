// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/frame_line.h"

#include <algorithm>

namespace fieldfare::render {
namespace {

const char* word_of(fleet::Framing framing) {
  switch (framing) {
    case fleet::Framing::none:
      return "messages";
    case fleet::Framing::slip:
      return "slip";
    case fleet::Framing::hdlc:
      return "hdlc";
    case fleet::Framing::cobs:
      return "cobs";
    case fleet::Framing::length_prefixed:
      return "length-prefixed";
    case fleet::Framing::delimited:
      return "delimited";
    case fleet::Framing::line:
      return "lines";
  }
  return "";
}

const char* word_of(fleet::Body body) {
  switch (body) {
    case fleet::Body::binary:
      return "";
    case fleet::Body::text:
      return " of text";
    case fleet::Body::json:
      return " of JSON";
    case fleet::Body::cbor:
      return " of CBOR";
    case fleet::Body::senml_json:
      return " of SenML (JSON)";
    case fleet::Body::senml_cbor:
      return " of SenML (CBOR)";
  }
  return "";
}

std::string check_words(const fleet::CheckFacts& check) {
  switch (check.kind) {
    case fleet::CheckKind::crc:
      return check.crc;
    case fleet::CheckKind::sum:
      return "sum-" + std::to_string(8 * check.octets);
    case fleet::CheckKind::exclusive_or:
      return "xor-8";
  }
  return {};
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
  std::string line = std::string{word_of(frame.framing)} + word_of(frame.body);
  if (frame.check) line += ", " + check_words(*frame.check);
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
