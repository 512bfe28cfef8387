// SPDX-License-Identifier: Apache-2.0
// Bodies of octets. The first byte chooses the layout.
#include "body_property.h"

namespace {

using fieldfare::fleet::AtOctet;
using fieldfare::fleet::BinaryForm;
using fieldfare::fleet::ByteOrder;
using fieldfare::fleet::FieldLayout;
using fieldfare::fleet::FieldRole;
using fieldfare::fleet::FrameFacts;
using fieldfare::fleet::NumberForm;
using fieldfare::fleet::NumberKind;
using fieldfare::fleet::OctetsForm;
using fieldfare::fleet::TextForm;

FieldLayout at(const char* name, FieldRole role, BinaryForm form, std::optional<int> place = {}) {
  return fieldfare::wire::test::field(name, role, AtOctet{place, form});
}

NumberForm number(NumberKind kind, int octets, ByteOrder order = ByteOrder::big) {
  return {kind, octets, order, {}};
}

constexpr NumberKind kUnsigned = NumberKind::unsigned_integer;
constexpr NumberKind kSigned = NumberKind::signed_integer;

/// Every kind of number, times, and what may lie past the end.
FrameFacts numbers() {
  FrameFacts frame;
  frame.fields = {at("a", FieldRole::address, number(NumberKind::bcd, 3, ByteOrder::little)),
                  at("s", FieldRole::sequence, number(kUnsigned, 7)),
                  at("c", FieldRole::time, number(kSigned, 5)),
                  at("g", FieldRole::age, number(kUnsigned, 2, ByteOrder::little)),
                  at("v", FieldRole::supply, number(kUnsigned, 1)),
                  at("h", FieldRole::reading, number(NumberKind::real, 2)),
                  at("d", FieldRole::reading, number(NumberKind::real, 8, ByteOrder::little)),
                  at("t", FieldRole::reading, number(kSigned, 3)),
                  at("p", FieldRole::reading, number(kUnsigned, 2)),
                  at("l", FieldRole::reading, number(kUnsigned, 2))};
  auto& fields = frame.fields;
  fields[3].conversion.scale = 1.0 / 32768;
  fields[4].missing = 255;
  fields[7].conversion = {.scale = 0.01, .offset = -273.15, .then = {}};
  fields[8].conversion = {.scale = 0.01, .offset = 0, .then = fieldfare::fleet::Pt100Sensor{}};
  fields[9].conversion = {.scale = 0.001, .offset = 0, .then = fieldfare::fleet::LoopSensor{0, 5}};
  for (std::size_t i = 7; i < fields.size(); ++i) fields[i].optional = true;
  return frame;
}

/// Flags, counts, constants, and what counts from the end.
FrameFacts conditions() {
  FrameFacts frame;
  frame.exact_length = true;
  frame.fields = {at("k", FieldRole::part, OctetsForm{1}),
                  at("f", FieldRole::part, number(kUnsigned, 1)),
                  at("n", FieldRole::part, number(kSigned, 1)),
                  at("x", FieldRole::reading, number(kSigned, 2)),
                  at("y", FieldRole::reading, number(kUnsigned, 2)),
                  at("m", FieldRole::name, TextForm{}),
                  at("p", FieldRole::payload, OctetsForm{}),
                  at("r", FieldRole::rssi, number(kSigned, 1), -3)};
  auto& fields = frame.fields;
  fields[0].equals = fieldfare::fleet::Octets{'k'};
  fields[3].when = fieldfare::fleet::Presence{"f", 2};
  fields[4].repeat = fieldfare::fleet::Repeat{std::string{"n"}, 3};
  fields[5].when = fieldfare::fleet::Presence{"f", std::nullopt, 7};
  frame.check = fieldfare::fleet::CheckFacts{};
  frame.check->crc = "crc-16/ibm-sdlc";
  frame.check->at = -2;
  return frame;
}

/// Bits that share octets, and text of a known width.
FrameFacts packed() {
  FrameFacts frame;
  frame.fields = {at("a", FieldRole::address, OctetsForm{8, ByteOrder::little}),
                  at("u", FieldRole::reading, number(kUnsigned, 3)),
                  at("i", FieldRole::reading, number(kSigned, 3), 8),
                  at("r", FieldRole::receiver, OctetsForm{2}),
                  at("c", FieldRole::time, TextForm{30}),
                  at("t", FieldRole::reading, TextForm{24})};
  std::get<NumberForm>(std::get<AtOctet>(frame.fields[1].place).form).bits = {{0, 9}};
  std::get<NumberForm>(std::get<AtOctet>(frame.fields[2].place).form).bits = {{10, 23}};
  for (const std::size_t i : {4U, 5U}) frame.fields[i].optional = true;
  return frame;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  static const FrameFacts frames[] = {numbers(), conditions(), packed()};
  if (size == 0) return 0;
  const FrameFacts& frame = frames[data[0] % 3];
  const auto codec = fieldfare::wire::make_body_codec(frame);
  const auto one = fieldfare::wire::make_body_codec(frame);
  const auto other = fieldfare::wire::make_body_codec(frame);
  fieldfare::fuzz::check_body(*codec, *one, *other, {data + 1, size - 1});
  return 0;
}
