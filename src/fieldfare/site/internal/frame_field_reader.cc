// SPDX-License-Identifier: Apache-2.0
// One field of [frame]: where it stands and what becomes of it.
#include <algorithm>
#include <cstdint>
#include <span>
#include <string>

#include "fieldfare/site/internal/frame_reader.h"
#include "fieldfare/site/internal/values.h"

namespace fieldfare::site {
namespace {

using fleet::Body;
using fleet::FieldLayout;
using fleet::NumberForm;
using fleet::NumberKind;

std::string quoted(std::string_view key) { return '`' + std::string{key} + '`'; }

/// The keys that say where a field stands in one kind of body.
struct PlaceRule {
  std::string_view body;
  std::span<const std::string_view> one_of;
  std::span<const std::string_view> besides;
};

constexpr std::string_view kType[] = {"type"};
constexpr std::string_view kAtAndBits[] = {"at", "bits"};
constexpr std::string_view kOfText[] = {"column", "key", "after"};
constexpr std::string_view kPointer[] = {"pointer"};
constexpr std::string_view kRecord[] = {"record"};
constexpr std::string_view kCoding[] = {"coding"};

PlaceRule rule_of(Body body) {
  switch (body) {
    case Body::binary:
      return {"a binary body", kType, kAtAndBits};
    case Body::text:
      return {"a body of text", kOfText, kCoding};
    case Body::json:
    case Body::cbor:
      return {"a body of JSON or CBOR", kPointer, kCoding};
    case Body::senml_json:
    case Body::senml_cbor:
      return {"a body of SenML", kRecord, {}};
  }
  return {};
}

bool holds(std::span<const std::string_view> keys, std::string_view key) {
  return std::find(keys.begin(), keys.end(), key) != keys.end();
}

std::string one_of(const PlaceRule& rule) {
  std::string text = quoted(rule.one_of.front());
  for (std::size_t i = 1; i < rule.one_of.size(); ++i) {
    text += (i + 1 == rule.one_of.size() ? " or " : ", ") + quoted(rule.one_of[i]);
  }
  return text;
}

/// A text may be looked for within a column.
bool go_together(std::string_view first, std::string_view second) {
  return first == "column" && second == "after";
}

/// Complains of keys of places that another body has, and of none or two that this has.
void check_place(const View& field, const PlaceRule& rule, Complaints& complaints) {
  constexpr std::string_view kPlaceKeys[] = {"type",   "at",  "bits",  "pointer", "record",
                                             "column", "key", "after", "coding"};
  std::string_view given;
  for (const std::string_view key : kPlaceKeys) {
    if (!field.has(key)) continue;
    if (holds(rule.one_of, key)) {
      if (!given.empty() && !go_together(given, key)) {
        complaints.error(field.spot_of(key), quoted(given) + " is given already",
                         "expected " + one_of(rule) + ", only `column` and `after` together");
      }
      given = key;
    } else if (!holds(rule.besides, key)) {
      complaints.error(field.spot_of(key),
                       quoted(key) + " says nothing in " + std::string{rule.body},
                       "expected " + one_of(rule));
    }
  }
  if (given.empty()) {
    complaints.error(field.spot(), "nothing says where the field stands, or how it is sent",
                     "expected " + one_of(rule) + ", as this is " + std::string{rule.body});
  }
}

fleet::AtOctet read_octet_place(const View& field, Complaints& complaints) {
  fleet::AtOctet place{field.small("at"),
                       field.value_type("type").value_or(fleet::BinaryForm{NumberForm{}})};
  if (const auto bits = field.bits("bits")) {
    if (auto* number = std::get_if<NumberForm>(&place.form)) {
      number->bits = bits;
    } else {
      complaints.error(field.spot_of("bits"), "`bits` stands at a field that is no number",
                       "expected an integer type");
    }
  }
  return place;
}

fleet::FieldPlace read_place(const View& field, Body body, Complaints& complaints) {
  check_place(field, rule_of(body), complaints);
  const auto coding = field.choice<fleet::TextCoding>("coding").value_or(fleet::TextCoding::plain);
  switch (body) {
    case Body::binary:
      return read_octet_place(field, complaints);
    case Body::text:
      if (field.has("after")) {
        return fleet::AfterText{field.text_or_empty("after"), coding, field.small("column")};
      }
      if (const auto column = field.small("column")) return fleet::AtColumn{*column, coding};
      return fleet::AtKey{field.text_or_empty("key"), coding};
    case Body::json:
    case Body::cbor:
      return fleet::AtPointer{field.text_or_empty("pointer"), coding};
    case Body::senml_json:
    case Body::senml_cbor:
      break;
  }
  return fleet::AtRecord{field.text_or_empty("record")};
}

fleet::Conversion read_conversion(const View& field, Complaints& complaints) {
  fleet::Conversion conversion;
  conversion.scale = field.number_or("scale", conversion.scale);
  conversion.offset = field.number_or("offset", conversion.offset);
  std::string_view given;
  const auto take = [&](std::string_view key, auto then) {
    if (!given.empty()) {
      complaints.error(field.spot_of(key), quoted(given) + " is given already",
                       "expected one of `polynomial`, `pt100`, `thermistor` and `loop`");
    }
    given = key;
    conversion.then = std::move(then);
  };
  if (field.has("polynomial")) take("polynomial", fleet::Polynomial{field.numbers("polynomial")});
  if (field.flag("pt100").value_or(false)) take("pt100", fleet::Pt100Sensor{});
  if (const auto ntc = field.table("thermistor")) {
    take("thermistor", fleet::ThermistorSensor{ntc->number_or("a", 0), ntc->number_or("b", 0),
                                               ntc->number_or("c", 0)});
  }
  if (const auto loop = field.table("loop")) {
    take("loop", fleet::LoopSensor{loop->number_or("low", 0), loop->number_or("high", 0)});
  }
  return conversion;
}

/// Octets of an integer as the form sends it; nothing where it has no room.
std::optional<fleet::Octets> octets_of_number(const NumberForm& form, std::int64_t value) {
  if (form.kind == NumberKind::real) return std::nullopt;
  const bool is_signed = form.kind == NumberKind::signed_integer;
  if (value < 0 && !is_signed) return std::nullopt;
  fleet::Octets octets;
  std::int64_t rest = value;
  for (int i = 0; i < form.octets; ++i) {
    if (form.kind == NumberKind::bcd) {
      octets.push_back(static_cast<std::uint8_t>((rest / 10 % 10) << 4 | rest % 10));
      rest /= 100;
    } else {
      octets.push_back(static_cast<std::uint8_t>(rest & 0xFF));
      rest >>= 8;
    }
  }
  const bool is_negative = is_signed && (octets.back() & 0x80U) != 0;
  if (rest != (is_negative ? -1 : 0)) return std::nullopt;
  if (form.order == fleet::ByteOrder::big) std::reverse(octets.begin(), octets.end());
  return octets;
}

/// A constant that is written as a number: as its type sends it, or, where the body is
/// text, as its digits.
std::optional<fleet::Octets> constant_number(const fleet::FieldPlace& place, std::int64_t value) {
  const auto* octet = std::get_if<fleet::AtOctet>(&place);
  if (!octet) {
    const std::string digits = std::to_string(value);
    return fleet::Octets{digits.begin(), digits.end()};
  }
  const auto* number = std::get_if<NumberForm>(&octet->form);
  return number ? octets_of_number(*number, value) : std::nullopt;
}

std::optional<fleet::Octets> read_constant(const View& field, const fleet::FieldPlace& place,
                                           Complaints& complaints) {
  const auto value = field.whole("equals");
  if (!value) return field.octets("equals");
  auto octets = constant_number(place, *value);
  if (!octets) {
    complaints.error(field.spot_of("equals"),
                     "`equals` is " + std::to_string(*value) + ", which the type " +
                         describe(Value{field.text_or_empty("type"), {}}) + " can't hold",
                     R"(expected a number that it can, or bytes in hex such as "7E 01")");
  }
  return octets;
}

std::optional<fleet::Presence> read_presence(const View& field) {
  const auto when = field.table("when");
  if (!when) return std::nullopt;
  return fleet::Presence{when->text_or_empty("field"), when->small("bit"), when->whole("equals")};
}

std::optional<fleet::Repeat> read_repeat(const View& field) {
  const auto repeat = field.table("repeat");
  if (!repeat) return std::nullopt;
  fleet::Repeat facts;
  if (const auto count = repeat->small("count")) {
    facts.count = *count;
  } else {
    facts.count = repeat->text_or_empty("count");
  }
  facts.stride = repeat->small("stride").value_or(0);
  return facts;
}

void check_name(const View& field, const FieldLayout& layout, Complaints& complaints) {
  const bool is_reading = layout.role == fleet::FieldRole::reading;
  if (is_reading ? is_reading_name(layout.name) : is_field_name(layout.name)) return;
  complaints.error(field.spot_of("name"),
                   describe(Value{layout.name, {}}) + " can't be the name of a " +
                       (is_reading ? "reading" : "field"),
                   is_reading ? "expected lower-case letters, digits and `_`, ending in the unit, "
                                "and no other column of logs; or a `role`"
                              : "expected lower-case letters, digits and `_`");
}

}  // namespace

FieldLayout read_frame_field(const View& field, Body body, Complaints& complaints) {
  FieldLayout layout;
  layout.name = field.text_or_empty("name");
  layout.role = field.choice<fleet::FieldRole>("role").value_or(layout.role);
  check_name(field, layout, complaints);
  layout.place = read_place(field, body, complaints);
  layout.conversion = read_conversion(field, complaints);
  layout.missing = field.whole("missing");
  layout.equals = read_constant(field, layout.place, complaints);
  layout.words = field.words("words");
  layout.when = read_presence(field);
  layout.repeat = read_repeat(field);
  layout.optional = field.flag("optional").value_or(false);
  layout.epoch = field.moment("epoch").value_or(layout.epoch);
  return layout;
}

}  // namespace fieldfare::site
