// SPDX-License-Identifier: Apache-2.0
// Bodies of text. The first byte chooses the layout.
#include "body_property.h"

namespace {

using fieldfare::fleet::AfterText;
using fieldfare::fleet::AtColumn;
using fieldfare::fleet::AtKey;
using fieldfare::fleet::FieldRole;
using fieldfare::fleet::FrameFacts;
using fieldfare::fleet::TextCoding;
using fieldfare::fuzz::maybe;

FrameFacts columns() {
  FrameFacts frame;
  frame.body = fieldfare::fleet::Body::text;
  frame.most_octets = 65536;
  frame.fields = {maybe("a", FieldRole::address, AtColumn{0}),
                  maybe("s", FieldRole::sequence, AtColumn{1}),
                  maybe("c", FieldRole::time, AtColumn{2}),
                  maybe("t", FieldRole::reading, AtColumn{3}),
                  maybe("w", FieldRole::reading, AtColumn{4}),
                  maybe("p", FieldRole::payload, AtColumn{5, TextCoding::base64}),
                  maybe("n", FieldRole::name, AtColumn{6}),
                  maybe("k", FieldRole::part, AtColumn{7}),
                  maybe("v", FieldRole::reading, AtColumn{8})};
  auto& fields = frame.fields;
  fields[3].conversion = {.scale = 0.5, .offset = -40, .then = {}};
  fields[3].missing = 255;
  fields[4].words = {{0, "shut"}, {1, "open"}};
  fields[8].repeat = fieldfare::fleet::Repeat{std::string{"k"}};
  return frame;
}

FrameFacts keys() {
  FrameFacts frame;
  frame.body = fieldfare::fleet::Body::text;
  frame.most_octets = 65536;
  frame.separator = ' ';
  frame.fields = {maybe("t", FieldRole::reading, AtKey{"T"}),
                  maybe("a", FieldRole::address, AtKey{"A", TextCoding::hex}),
                  maybe("r", FieldRole::rssi, AtKey{"R"}),
                  maybe("g", FieldRole::age, AtKey{"G"}),
                  maybe("f", FieldRole::part, AtKey{"F"}),
                  maybe("h", FieldRole::reading, AtKey{"H"})};
  frame.fields[5].when = fieldfare::fleet::Presence{"f", 1};
  return frame;
}

/// Words with numbers between, in which values may read like the words.
FrameFacts words() {
  FrameFacts frame;
  frame.body = fieldfare::fleet::Body::text;
  frame.most_octets = 65536;
  frame.separator = ';';
  frame.decimal = ',';
  frame.fields = {maybe("n", FieldRole::name, AfterText{"n"}),
                  maybe("t", FieldRole::reading, AfterText{"T"}),
                  maybe("h", FieldRole::reading, AfterText{"H", TextCoding::hex}),
                  maybe("p", FieldRole::network, AfterText{"P", TextCoding::hex}),
                  maybe("c", FieldRole::sequence, AfterText{"", TextCoding::plain, 1}),
                  maybe("d", FieldRole::reading, AfterText{"/", TextCoding::plain, 1})};
  return frame;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const FrameFacts frames[] = {columns(), keys(), words()};
  if (size == 0) return 0;
  const FrameFacts& frame = frames[data[0] % 3];
  const auto codec = fieldfare::wire::make_body_codec(frame);
  const auto one = fieldfare::wire::make_body_codec(frame);
  const auto other = fieldfare::wire::make_body_codec(frame);
  fieldfare::fuzz::check_body(*codec, *one, *other, {data + 1, size - 1}, &frame == &frames[2]);
  return 0;
}
