// SPDX-License-Identifier: Apache-2.0
// [frame] as a whole: framing, check, body.
#include "fieldfare/site/internal/frame_reader.h"

#include <algorithm>
#include <string>
#include <utility>

#include "fieldfare/base/crc.h"
#include "fieldfare/site/internal/values.h"

namespace fieldfare::site {
namespace {

using fleet::ByteOrder;
using fleet::CheckFacts;
using fleet::CheckKind;
using fleet::FrameFacts;
using fleet::NumberForm;

constexpr int kMostBytesOfALength = 4;

struct PlainCheck {
  std::string_view name;
  CheckKind kind;
  int octets;
};
constexpr PlainCheck kPlainChecks[] = {{"sum-8", CheckKind::sum, 1},
                                       {"sum-16", CheckKind::sum, 2},
                                       {"xor-8", CheckKind::exclusive_or, 1}};

std::vector<std::string_view> check_names() {
  std::vector<std::string_view> names;
  for (const PlainCheck& each : kPlainChecks) names.push_back(each.name);
  for (const CrcModel& each : crc_models()) names.push_back(each.name);
  return names;
}

/// Kind, width and usual order of the check that is called so.
std::optional<CheckFacts> find_check(std::string_view name) {
  CheckFacts facts;
  facts.order = ByteOrder::big;
  for (const PlainCheck& each : kPlainChecks) {
    if (each.name != name) continue;
    facts.kind = each.kind;
    facts.octets = each.octets;
    return facts;
  }
  const CrcModel* model = find_crc_model(name);
  if (!model) return std::nullopt;
  facts.crc = model->name;
  facts.octets = static_cast<int>(model->width / 8);
  // What comes out with the least significant bit first goes on the wire so, octets too.
  if (model->reflect_out) facts.order = ByteOrder::little;
  return facts;
}

std::optional<CheckFacts> named_check(const std::string& name, Spot spot, Complaints& complaints) {
  auto facts = find_check(name);
  if (!facts) {
    complaints.error(spot, "there is no check " + describe(Value{name, {}}),
                     nearest_or_known(name, check_names()));
    return std::nullopt;
  }
  facts->at = -sent_octets(*facts);
  return facts;
}

std::optional<CheckFacts> read_check(const View& frame, Complaints& complaints) {
  if (const auto name = frame.text("check")) {
    return named_check(*name, frame.spot_of("check"), complaints);
  }
  const auto table = frame.table("check");
  if (!table) return std::nullopt;
  auto facts = named_check(table->text_or_empty("kind"), table->spot_of("kind"), complaints);
  if (!facts) return std::nullopt;
  facts->order = table->choice<ByteOrder>("order").value_or(facts->order);
  facts->complement = table->choice<fleet::Complement>("complement").value_or(facts->complement);
  facts->as_hex_digits = table->flag("digits").value_or(false);
  facts->at = table->small("at").value_or(-sent_octets(*facts));
  facts->from = table->small("from").value_or(0);
  facts->to = table->small("to").value_or(0);
  return facts;
}

std::optional<fleet::LengthPrefix> read_prefix(const View& frame, Complaints& complaints) {
  const auto table = frame.table("length");
  if (!table) return std::nullopt;
  const auto form = table->value_type("type");
  const auto* number = form ? std::get_if<NumberForm>(&*form) : nullptr;
  if (!number || number->kind != fleet::NumberKind::unsigned_integer ||
      number->octets > kMostBytesOfALength) {
    complaints.error(table->spot_of("type"),
                     "`type` is " + describe(Value{table->text_or_empty("type"), {}}) +
                         ", which is no type of a length",
                     R"(expected an unsigned integer of 1 to 4 bytes, such as "u8" or "u16be")");
    return std::nullopt;
  }
  return fleet::LengthPrefix{table->small("at").value_or(0), number->octets, number->order,
                             table->small("adds").value_or(0)};
}

FrameFacts read_facts(const View& frame, Complaints& complaints) {
  FrameFacts facts;
  facts.framing = frame.choice<fleet::Framing>("framing").value_or(facts.framing);
  facts.start = frame.octets("start").value_or(fleet::Octets{});
  facts.end = frame.octets("end").value_or(fleet::Octets{});
  facts.length = frame.small("length");
  facts.prefix = read_prefix(frame, complaints);
  facts.most_octets = frame.small("most_bytes").value_or(facts.most_octets);
  facts.check = read_check(frame, complaints);
  facts.body = frame.choice<fleet::Body>("body").value_or(facts.body);
  facts.separator = frame.character("separator").value_or(facts.separator);
  facts.assignment = frame.character("assignment").value_or(facts.assignment);
  facts.decimal = frame.text("decimal").value_or(".").front();
  facts.each = frame.text_or_empty("each");
  facts.exact_length = frame.flag("exact_length").value_or(false);
  for (const View& field : frame.tables("field")) {
    facts.fields.push_back(read_frame_field(field, facts.body, complaints));
  }
  return facts;
}

/// The key that says what sensor lies behind a field.
std::string_view sensor_key(const View& field) {
  for (const std::string_view key : {"pt100", "thermistor", "loop"}) {
    if (field.has(key)) return key;
  }
  return "polynomial";
}

void complain(const View& frame, const std::vector<fleet::FrameFault>& faults,
              Complaints& complaints) {
  const auto fields = frame.tables("field");
  for (const fleet::FrameFault& fault : faults) {
    const View& table = fault.field ? fields[*fault.field] : frame;
    const std::string key{fault.key == "sensor" ? sensor_key(table) : fault.key};
    complaints.error(table.spot_of(key), '`' + key + "`: " + fault.what,
                     "expected " + fault.expected);
  }
}

constexpr std::string_view kFactKeys[] = {"plausible", "resolution", "accuracy",
                                          "max_rate_per_min"};

/// The first of the keys that say what is known of a reading; empty where there is none.
std::string_view fact_key(const View& field) {
  const auto* const found = std::find_if(std::begin(kFactKeys), std::end(kFactKeys),
                                         [&](std::string_view key) { return field.has(key); });
  return found == std::end(kFactKeys) ? std::string_view{} : *found;
}

/// What the readings of a field are called.
std::vector<std::string> reading_names(const fleet::FieldLayout& layout) {
  if (!layout.repeat) return {layout.name};
  std::vector<std::string> names;
  if (const int* const count = std::get_if<int>(&layout.repeat->count)) {
    for (int i = 0; i < *count; ++i) {
      names.push_back(fleet::repeated_name(layout.name, static_cast<std::size_t>(i)));
    }
  }
  return names;
}

void add_facts(const View& field, const fleet::FieldLayout& layout,
               std::vector<fleet::FieldFacts>& fields, Complaints& complaints) {
  const std::string key{fact_key(field)};
  if (key.empty()) return;
  if (layout.role != fleet::FieldRole::reading) {
    complaints.error(field.spot_of(key), '`' + key + "` stands at a field that is no reading",
                     "leave it out");
    return;
  }
  const auto names = reading_names(layout);
  if (names.empty()) {
    complaints.error(
        field.spot_of(key), '`' + key + "` stands at a field that comes a changing number of times",
        "expected it in [field." + fleet::repeated_name(layout.name, 0) + "] and so on");
  }
  for (const std::string& name : names) {
    const bool known =
        std::any_of(fields.begin(), fields.end(),
                    [&](const fleet::FieldFacts& each) { return each.name == name; });
    if (known) {
      complaints.error(field.spot_of(key),
                       "what is known of " + describe(Value{name, {}}) + " stands in [field." +
                           name + "] already",
                       "expected it in one of the two places");
      return;
    }
    fields.push_back({name, field.range("plausible"), field.number("resolution"),
                      field.number("accuracy"), field.number("max_rate_per_min")});
  }
}

}  // namespace

std::optional<FrameFacts> read_frame(const View& frame, Complaints& complaints) {
  if (!frame.is_sound()) return std::nullopt;
  const std::size_t before = complaints.count();
  FrameFacts facts = read_facts(frame, complaints);
  if (complaints.count() == before) complain(frame, faults_of(facts), complaints);
  if (complaints.count() != before) return std::nullopt;
  return facts;
}

void add_frame_field_facts(const View& frame, const FrameFacts& facts,
                           std::vector<fleet::FieldFacts>& fields, Complaints& complaints) {
  const auto views = frame.tables("field");
  for (std::size_t i = 0; i < views.size(); ++i) {
    add_facts(views[i], facts.fields[i], fields, complaints);
  }
}

void refuse_frame_field_facts(const View& frame, Complaints& complaints) {
  for (const View& field : frame.tables("field")) {
    const std::string key{fact_key(field)};
    if (key.empty()) continue;
    complaints.error(field.spot_of(key), '`' + key + "` stands in the sheet of a receiver",
                     "expected it in the sheets of the nodes that measure it");
  }
}

}  // namespace fieldfare::site
