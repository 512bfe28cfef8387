// SPDX-License-Identifier: Apache-2.0
// JSON and CBOR bodies. The first byte chooses between them and two layouts.
#include "body_property.h"
#include "fieldfare/wire/body_codec.h"

namespace {

using fieldfare::fleet::AtPointer;
using fieldfare::fleet::Body;
using fieldfare::fleet::FieldRole;
using fieldfare::fleet::FrameFacts;
using fieldfare::fleet::TextCoding;
using fieldfare::fuzz::maybe;

FrameFacts layout(Body body, bool is_list) {
  FrameFacts frame;
  frame.body = body;
  frame.most_octets = 65536;
  if (is_list) frame.each = "/l";
  frame.fields = {maybe("a", FieldRole::address, AtPointer{"/a"}),
                  maybe("n", FieldRole::name, AtPointer{"/n"}),
                  maybe("s", FieldRole::sequence, AtPointer{"/s"}),
                  maybe("c", FieldRole::time, AtPointer{"/c"}),
                  maybe("g", FieldRole::age, AtPointer{"/g"}),
                  maybe("p", FieldRole::payload, AtPointer{"/p", TextCoding::hex}),
                  maybe("f", FieldRole::part, AtPointer{"/f"}),
                  maybe("r", FieldRole::rssi, AtPointer{"/q/0/r"}),
                  maybe("t", FieldRole::reading, AtPointer{"/t"}),
                  maybe("h", FieldRole::reading, AtPointer{"/h"}),
                  maybe("v", FieldRole::reading, AtPointer{"/v"})};
  auto& fields = frame.fields;
  fields[8].conversion = {.scale = 0.5, .offset = -40, .then = {}};
  fields[8].missing = 255;
  fields[9].words = {{0, "no"}, {1, "yes"}};
  fields[9].when = fieldfare::fleet::Presence{"f", 1};
  fields[10].repeat = fieldfare::fleet::Repeat{3};
  return frame;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const FrameFacts frames[] = {layout(Body::json, false), layout(Body::cbor, false),
                                      layout(Body::json, true), layout(Body::cbor, true)};
  if (size == 0) return 0;
  const FrameFacts& frame = frames[data[0] % 4];
  const auto codec = fieldfare::wire::make_body_codec(frame);
  const auto one = fieldfare::wire::make_body_codec(frame);
  const auto other = fieldfare::wire::make_body_codec(frame);
  fieldfare::fuzz::check_body(*codec, *one, *other, {data + 1, size - 1});
  return 0;
}
