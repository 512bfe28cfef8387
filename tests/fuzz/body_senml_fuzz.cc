// SPDX-License-Identifier: Apache-2.0
// SenML packs. The first byte chooses between JSON and CBOR and two layouts.
#include "body_property.h"
#include "fieldfare/wire/body_codec.h"

namespace {

using fieldfare::fleet::AtRecord;
using fieldfare::fleet::Body;
using fieldfare::fleet::FieldRole;
using fieldfare::fleet::FrameFacts;
using fieldfare::fuzz::maybe;

FrameFacts by_name(Body body) {
  FrameFacts frame;
  frame.body = body;
  frame.most_octets = 65536;
  frame.fields = {maybe("n", FieldRole::name, AtRecord{""}),
                  maybe("s", FieldRole::sequence, AtRecord{"s"}),
                  maybe("t", FieldRole::reading, AtRecord{"t", "Cel"}),
                  maybe("w", FieldRole::reading, AtRecord{"w"}),
                  maybe("v", FieldRole::reading, AtRecord{"v"}),
                  maybe("p", FieldRole::payload, AtRecord{"p"})};
  frame.fields[2].conversion = {.scale = 0.5, .offset = -40, .then = {}};
  frame.fields[3].words = {{0, "no"}, {1, "yes"}};
  return frame;
}

FrameFacts by_unit(Body body) {
  FrameFacts frame;
  frame.body = body;
  frame.most_octets = 65536;
  frame.fields = {maybe("n", FieldRole::name, AtRecord{""}),
                  maybe("t", FieldRole::reading, AtRecord{"", "Cel"}),
                  maybe("h", FieldRole::reading, AtRecord{"", "%RH"})};
  return frame;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const FrameFacts frames[] = {by_name(Body::senml_json), by_name(Body::senml_cbor),
                                      by_unit(Body::senml_json), by_unit(Body::senml_cbor)};
  if (size == 0) return 0;
  const FrameFacts& frame = frames[data[0] % 4];
  const auto codec = fieldfare::wire::make_body_codec(frame);
  const auto one = fieldfare::wire::make_body_codec(frame);
  const auto other = fieldfare::wire::make_body_codec(frame);
  fieldfare::fuzz::check_body(*codec, *one, *other, {data + 1, size - 1});
  return 0;
}
