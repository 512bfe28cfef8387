// SPDX-License-Identifier: Apache-2.0
#include <variant>

#include "fieldfare/render/internal/json_writer.h"
#include "fieldfare/render/internal/learn_words.h"
#include "fieldfare/render/learn_answer.h"
#include "fieldfare/site/sheet_words.h"

namespace fieldfare::render {
namespace {

using internal::JsonWriter;

template <class... Cases>
struct Overload : Cases... {
  using Cases::operator()...;
};
template <class... Cases>
Overload(Cases...) -> Overload<Cases...>;

/// Whole numbers that may be negative: as exact in a double.
void put_whole(JsonWriter& json, std::string_view key, int number) {
  json.put(key, static_cast<double>(number));
}

void put_hex(JsonWriter& json, std::string_view key, const fleet::Octets& octets) {
  if (!octets.empty()) json.put(key, internal::hex_pairs(octets));
}

void put_prefix(JsonWriter& json, const fleet::LengthPrefix& prefix) {
  json.open_object("prefix");
  put_whole(json, "at", prefix.at);
  put_whole(json, "octets", prefix.octets);
  json.put("order", site::order_word(prefix.order));
  put_whole(json, "adds", prefix.adds);
  json.close_object();
}

void put_check(JsonWriter& json, const fleet::CheckFacts& check) {
  json.open_object("check");
  json.put("kind", site::check_name(check));
  put_whole(json, "octets", check.octets);
  json.put("order", site::order_word(check.order));
  json.put("complement", site::complement_word(check.complement));
  json.put("digits", check.as_hex_digits);
  put_whole(json, "at", check.at);
  put_whole(json, "from", check.from);
  put_whole(json, "to", check.to);
  json.close_object();
}

void put_coding(JsonWriter& json, fleet::TextCoding coding) {
  json.put("coding", site::coding_word(coding));
}

void put_octet_place(JsonWriter& json, const fleet::AtOctet& place) {
  if (place.at) put_whole(json, "at", *place.at);
  json.put("type", site::type_word(place.form));
  if (const auto octets = fleet::octets_of(place.form)) put_whole(json, "octets", *octets);
  const auto* number = std::get_if<fleet::NumberForm>(&place.form);
  if (!number) return;
  json.put("order", site::order_word(number->order));
  if (!number->bits) return;
  json.open_array("bits");
  put_whole(json, {}, number->bits->low);
  put_whole(json, {}, number->bits->high);
  json.close_array();
}

void put_place(JsonWriter& json, const fleet::FieldPlace& place) {
  std::visit(Overload{[&](const fleet::AtOctet& octet) { put_octet_place(json, octet); },
                      [&](const fleet::AtPointer& tree) {
                        json.put("pointer", tree.pointer);
                        put_coding(json, tree.coding);
                      },
                      [&](const fleet::AtRecord& record) { json.put("record", record.name); },
                      [&](const fleet::AtColumn& column) {
                        put_whole(json, "column", column.column);
                        put_coding(json, column.coding);
                      },
                      [&](const fleet::AtKey& key) {
                        json.put("key", key.key);
                        put_coding(json, key.coding);
                      },
                      [&](const fleet::AfterText& after) {
                        json.put("after", after.text);
                        if (after.column) put_whole(json, "column", *after.column);
                        put_coding(json, after.coding);
                      }},
             place);
}

void put_field(JsonWriter& json, const fleet::FieldLayout& field) {
  json.open_object();
  json.put("name", field.name);
  json.put("role", site::role_word(field.role));
  put_place(json, field.place);
  json.put("scale", field.conversion.scale);
  json.put("offset", field.conversion.offset);
  if (field.equals) put_hex(json, "equals", *field.equals);
  if (field.optional) json.put("optional", true);
  json.close_object();
}

void put_frame(JsonWriter& json, const fleet::FrameFacts& frame) {
  json.open_object("frame");
  json.put("framing", site::framing_word(frame.framing));
  put_hex(json, "start", frame.start);
  put_hex(json, "end", frame.end);
  if (frame.length) put_whole(json, "length", *frame.length);
  if (frame.prefix) put_prefix(json, *frame.prefix);
  put_whole(json, "most_bytes", frame.most_octets);
  if (frame.check) put_check(json, *frame.check);
  json.put("body", site::body_word(frame.body));
  if (frame.body == fleet::Body::text) {
    json.put("separator", std::string_view{&frame.separator, 1});
    json.put("assignment", std::string_view{&frame.assignment, 1});
    json.put("decimal", std::string_view{&frame.decimal, 1});
  }
  if (!frame.each.empty()) json.put("each", frame.each);
  json.put("exact_length", frame.exact_length);
  json.open_array("fields");
  for (const fleet::FieldLayout& each : frame.fields) put_field(json, each);
  json.close_array();
  json.close_object();
}

void put_sequence(JsonWriter& json, const fleet::SequenceFacts& sequence) {
  json.open_object("sequence");
  if (sequence.bits) put_whole(json, "bits", *sequence.bits);
  json.put("starts_at", sequence.starts_at);
  json.put("restarts_on_reset", sequence.restarts_on_reset);
  json.close_object();
}

void put_finding(JsonWriter& json, const learn::Finding& finding) {
  json.open_object();
  json.put("part", finding.part);
  json.put("sureness", internal::sureness_word(finding.sureness));
  json.put("what", finding.what);
  if (!finding.decides.empty()) json.put("decides", finding.decides);
  if (finding.field) json.put("field", std::uint64_t{*finding.field});
  json.close_object();
}

void put_example(JsonWriter& json, const learn::Learnt& learnt) {
  if (learnt.example.empty()) return;
  json.open_object("example");
  put_hex(json, "hex", learnt.example);
  json.open_array("marks");
  for (const learn::Mark& each : learnt.marks) {
    json.open_object();
    json.put("from", std::uint64_t{each.from});
    json.put("to", std::uint64_t{each.to});
    json.put("what", each.what);
    json.close_object();
  }
  json.close_array();
  json.close_object();
}

}  // namespace

std::string learn_json(const learn::Learnt& learnt, std::string_view sheet) {
  JsonWriter json;
  json.open_object();
  json.put("schema", "fieldfare/learn/1");
  json.put("frames", std::uint64_t{learnt.frames});
  json.put("sound", std::uint64_t{learnt.sound});
  json.put("opaque_body", learnt.opaque_body);
  json.open_array("nodes");
  for (const std::string& each : learnt.nodes) json.put({}, each);
  json.close_array();
  if (learnt.frame) {
    put_frame(json, *learnt.frame);
    put_sequence(json, learnt.sequence);
  }
  json.open_array("findings");
  for (const learn::Finding& each : learnt.findings) put_finding(json, each);
  json.close_array();
  put_example(json, learnt);
  if (!sheet.empty()) json.put("sheet", sheet);
  json.close_object();
  return json.finish();
}

}  // namespace fieldfare::render
