// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/internal/frame_writer.h"

#include <algorithm>
#include <array>
#include <cstdio>
#include <variant>
#include <vector>

#include "fieldfare/base/crc.h"
#include "fieldfare/base/number_text.h"
#include "fieldfare/site/sheet_words.h"

namespace fieldfare::site {
namespace {

using fleet::ByteOrder;
using fleet::CheckFacts;
using fleet::NumberForm;
using fleet::NumberKind;
using fleet::Octets;

template <class... Cases>
struct Overload : Cases... {
  using Cases::operator()...;
};
template <class... Cases>
Overload(Cases...) -> Overload<Cases...>;

template <class Whole>
std::string whole(Whole value) {
  return std::to_string(value);
}

/// `{ a = 1, b = 2 }` of pairs that are written already; empty where there are none.
class InlineTable {
 public:
  void add(std::string_view key, std::string_view value) {
    text_ += (text_.empty() ? " " : ", ") + std::string{key} + " = " + std::string{value};
  }
  std::string take() const { return '{' + text_ + " }"; }

 private:
  std::string text_;
};

std::string joined(const std::vector<double>& numbers) {
  std::string text;
  for (const double each : numbers) text += (text.empty() ? "" : ", ") + number_text(each);
  return '[' + text + ']';
}

std::string hex(const Octets& octets) {
  std::string text;
  for (const std::uint8_t each : octets) {
    std::array<char, 4> pair{};
    std::snprintf(pair.data(), pair.size(), "%02X", unsigned{each});
    if (!text.empty()) text += ' ';
    text += pair.data();
  }
  return toml_text(text);
}

/// As characters where all of them can be read, else in hex.
std::string characters(const Octets& octets) {
  const auto is_printed = [](std::uint8_t each) { return each >= 0x20 && each <= 0x7E; };
  if (!std::all_of(octets.begin(), octets.end(), is_printed)) return hex(octets);
  return toml_text("text:" + std::string{octets.begin(), octets.end()});
}

/// The order that is meant where a check doesn't say it.
ByteOrder usual_order(const CheckFacts& check) {
  const CrcModel* model = check.kind == fleet::CheckKind::crc ? find_crc_model(check.crc) : nullptr;
  return model && model->reflect_out ? ByteOrder::little : ByteOrder::big;
}

std::string check_value(const CheckFacts& check) {
  std::string kind = toml_text(check_name(check));
  CheckFacts usual = check;
  usual.complement = fleet::Complement::none;
  usual.order = usual_order(check);
  usual.as_hex_digits = false;
  usual.at = -check.octets;
  usual.from = usual.to = 0;
  if (check == usual) return kind;
  InlineTable table;
  table.add("kind", kind);
  if (check.at != -sent_octets(check)) table.add("at", whole(check.at));
  if (check.from != 0) table.add("from", whole(check.from));
  if (check.to != 0) table.add("to", whole(check.to));
  if (check.order != usual.order) table.add("order", toml_text(order_word(check.order)));
  if (check.complement != usual.complement) {
    table.add("complement", toml_text(complement_word(check.complement)));
  }
  if (check.as_hex_digits) table.add("digits", "true");
  return table.take();
}

std::string prefix_value(const fleet::LengthPrefix& prefix) {
  InlineTable table;
  table.add("at", whole(prefix.at));
  table.add("type", toml_text(type_word(NumberForm{
                        NumberKind::unsigned_integer, prefix.octets, prefix.order, {}})));
  if (prefix.adds != 0) table.add("adds", whole(prefix.adds));
  return table.take();
}

std::string coding_line(fleet::TextCoding coding) {
  if (coding == fleet::TextCoding::plain) return "";
  return toml_line("coding", toml_text(coding_word(coding)));
}

std::string octet_lines(const fleet::AtOctet& place) {
  std::string text;
  if (place.at) text += toml_line("at", whole(*place.at));
  text += toml_line("type", toml_text(type_word(place.form)));
  const auto* number = std::get_if<NumberForm>(&place.form);
  if (number && number->bits) {
    text +=
        toml_line("bits", '[' + whole(number->bits->low) + ", " + whole(number->bits->high) + ']');
  }
  return text;
}

std::string place_lines(const fleet::FieldPlace& place) {
  return std::visit(
      Overload{
          [](const fleet::AtOctet& octet) { return octet_lines(octet); },
          [](const fleet::AtPointer& tree) {
            return toml_line("pointer", toml_text(tree.pointer)) + coding_line(tree.coding);
          },
          [](const fleet::AtRecord& record) { return toml_line("record", toml_text(record.name)); },
          [](const fleet::AtColumn& column) {
            return toml_line("column", whole(column.column)) + coding_line(column.coding);
          },
          [](const fleet::AtKey& key) {
            return toml_line("key", toml_text(key.key)) + coding_line(key.coding);
          },
          [](const fleet::AfterText& after) {
            const auto& column = after.column;
            return (column ? toml_line("column", whole(*column)) : std::string{}) +
                   toml_line("after", toml_text(after.text)) + coding_line(after.coding);
          }},
      place);
}

std::string conversion_lines(const fleet::Conversion& conversion) {
  std::string text;
  if (conversion.scale != 1) text += toml_line("scale", number_text(conversion.scale));
  if (conversion.offset != 0) text += toml_line("offset", number_text(conversion.offset));
  return text +
         std::visit(Overload{[](std::monostate) { return std::string{}; },
                             [](const fleet::Pt100Sensor&) { return toml_line("pt100", "true"); },
                             [](const fleet::ThermistorSensor& ntc) {
                               InlineTable table;
                               table.add("a", number_text(ntc.a));
                               table.add("b", number_text(ntc.b));
                               table.add("c", number_text(ntc.c));
                               return toml_line("thermistor", table.take());
                             },
                             [](const fleet::LoopSensor& loop) {
                               InlineTable table;
                               table.add("low", number_text(loop.low));
                               table.add("high", number_text(loop.high));
                               return toml_line("loop", table.take());
                             },
                             [](const fleet::Polynomial& polynomial) {
                               return toml_line("polynomial", joined(polynomial.coefficients));
                             }},
                    conversion.then);
}

std::string words_value(const fleet::FieldLayout& field) {
  InlineTable table;
  for (const auto& [raw, word] : field.words) table.add(whole(raw), toml_text(word));
  return table.take();
}

std::string when_value(const fleet::Presence& when) {
  InlineTable table;
  table.add("field", toml_text(when.field));
  if (when.bit) table.add("bit", whole(*when.bit));
  if (when.equals) table.add("equals", whole(*when.equals));
  return table.take();
}

std::string repeat_value(const fleet::Repeat& repeat) {
  InlineTable table;
  table.add("count", std::visit(Overload{[](int count) { return whole(count); },
                                         [](const std::string& field) { return toml_text(field); }},
                                repeat.count));
  if (repeat.stride != 0) table.add("stride", whole(repeat.stride));
  return table.take();
}

std::string equals_value(const fleet::FieldLayout& field) {
  const auto* octet = std::get_if<fleet::AtOctet>(&field.place);
  const bool is_text = !octet || std::holds_alternative<fleet::TextForm>(octet->form);
  return is_text ? characters(*field.equals) : hex(*field.equals);
}

}  // namespace

std::string toml_line(std::string_view key, std::string_view value) {
  return std::string{key} + " = " + std::string{value} + '\n';
}

std::string toml_text(std::string_view text) {
  std::string quoted = "\"";
  for (const char each : text) {
    const auto byte = static_cast<unsigned char>(each);
    if (each == '"' || each == '\\') {
      quoted += '\\';
      quoted += each;
    } else if (byte < 0x20 || byte == 0x7F) {
      std::array<char, 8> escape{};
      std::snprintf(escape.data(), escape.size(), "\\u%04X", unsigned{byte});
      quoted += escape.data();
    } else {
      quoted += each;
    }
  }
  return quoted + '"';
}

std::string frame_keys(const fleet::FrameFacts& frame) {
  const fleet::FrameFacts usual;
  std::string text;
  const auto add = [&](std::string_view key, const std::string& value) {
    text += toml_line(key, value);
  };
  if (frame.framing != usual.framing) add("framing", toml_text(framing_word(frame.framing)));
  if (!frame.start.empty()) add("start", hex(frame.start));
  if (!frame.end.empty()) add("end", hex(frame.end));
  if (frame.length) add("length", whole(*frame.length));
  if (frame.prefix) add("length", prefix_value(*frame.prefix));
  if (frame.most_octets != usual.most_octets) add("most_bytes", whole(frame.most_octets));
  if (frame.check) add("check", check_value(*frame.check));
  if (frame.body != usual.body) add("body", toml_text(body_word(frame.body)));
  if (frame.separator != usual.separator) add("separator", toml_text({&frame.separator, 1}));
  if (frame.assignment != usual.assignment) add("assignment", toml_text({&frame.assignment, 1}));
  if (frame.decimal != usual.decimal) add("decimal", toml_text({&frame.decimal, 1}));
  if (!frame.each.empty()) add("each", toml_text(frame.each));
  if (frame.exact_length) add("exact_length", "true");
  return text;
}

std::string frame_field_keys(const fleet::FieldLayout& field) {
  std::string text = toml_line("name", toml_text(field.name));
  if (field.role != fleet::FieldRole::reading) {
    text += toml_line("role", toml_text(role_word(field.role)));
  }
  text += place_lines(field.place) + conversion_lines(field.conversion);
  if (field.missing) text += toml_line("missing", whole(*field.missing));
  if (field.equals) text += toml_line("equals", equals_value(field));
  if (!field.words.empty()) text += toml_line("words", words_value(field));
  if (field.when) text += toml_line("when", when_value(*field.when));
  if (field.repeat) text += toml_line("repeat", repeat_value(*field.repeat));
  if (field.optional) text += toml_line("optional", "true");
  if (field.epoch != Instant{}) text += toml_line("epoch", toml_text(to_rfc3339(field.epoch)));
  return text;
}

std::string field_facts_keys(const fleet::FieldFacts& facts) {
  std::string text;
  if (facts.plausible) {
    text += toml_line("plausible", joined({facts.plausible->low, facts.plausible->high}));
  }
  if (facts.resolution) text += toml_line("resolution", number_text(*facts.resolution));
  if (facts.accuracy) text += toml_line("accuracy", number_text(*facts.accuracy));
  if (facts.max_rate_per_min) {
    text += toml_line("max_rate_per_min", number_text(*facts.max_rate_per_min));
  }
  return text;
}

}  // namespace fieldfare::site
