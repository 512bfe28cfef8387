// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/internal/grammar.h"

#include <array>
#include <charconv>

namespace fieldfare::site {
namespace {

std::string joined(std::span<const std::string_view> words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i) {
    if (i > 0) text += i + 1 == words.size() ? " or " : ", ";
    text += '`' + std::string{words[i]} + '`';
  }
  return text;
}

std::string span_text(const Key& key) {
  const std::string unit = key.unit.empty() ? "" : " in " + std::string{key.unit};
  return unit + " from " + plain_number(key.least) + " to " + plain_number(key.most);
}

}  // namespace

std::string plain_number(double value) {
  std::array<char, 64> buffer{};
  const bool long_winded = value > 1e12 || value < -1e12;
  const auto end =
      long_winded ? std::to_chars(buffer.begin(), buffer.end(), value)
                  : std::to_chars(buffer.begin(), buffer.end(), value, std::chars_format::fixed);
  return {buffer.data(), end.ptr};
}

std::string expectation(const Key& key) {
  switch (key.form) {
    case Form::name:
      return "a name of 1 to 64 characters and 128 bytes, with no blank at either end";
    case Form::text:
      return "a text of 1 to 256 characters, with no blank at either end";
    case Form::any_text:
      return "a text of up to 256 characters";
    case Form::character:
      return "one character between quotes";
    case Form::text_or_table:
      return "a name between quotes, or a table { … }";
    case Form::whole_or_table:
      return "a whole number" + span_text(key) + ", or a table { … }";
    case Form::whole_or_name:
      return "a whole number" + span_text(key) + ", or a name";
    case Form::octets:
      return R"(bytes in hex such as "7E 01", or characters such as "text:$GP")";
    case Form::octets_or_whole:
      return R"(bytes in hex such as "7E 01", characters such as "text:$GP", or a whole number)";
    case Form::value_type:
      return R"(a type such as "u8", "i16be", "u24le", "f32be", "bcd2", "bytes8" or "text")";
    case Form::bits:
      return "[lowest, highest], two bits" + span_text(key);
    case Form::words:
      return R"(`{ 0 = "closed", 1 = "open" }`, whole numbers and what they mean)";
    case Form::moment:
      return R"(a date such as 2000-01-01, or a time such as "2000-01-01T00:00:00Z")";
    case Form::pan_id:
      return R"("0x0000" to "0xFFFE")";
    case Form::choice:
      return joined(key.words);
    case Form::choices:
      return "a list of " + joined(key.words);
    case Form::flag:
      return "true or false";
    case Form::number:
      return "a number" + span_text(key);
    case Form::whole:
      return "a whole number" + span_text(key);
    case Form::number_or_word:
      return "a number" + span_text(key) + ", or " + joined(key.words);
    case Form::numbers:
      return "a list of numbers" + span_text(key);
    case Form::range:
      return "[low, high], two rising numbers" + span_text(key);
    case Form::position:
      return "[x, y, z], three numbers" + span_text(key);
    case Form::number_map:
      return "`{ number = number, … }` with values" + span_text(key);
    case Form::duration:
      return R"(a duration such as "90 s" or "10 min", or `)" + std::string{key.name} +
             "_s` as a number, from " + plain_number(key.least) + " to " + plain_number(key.most) +
             " s";
    case Form::date:
      return "a date such as 2026-03-02";
    case Form::address:
      return "1 to 16 hex digits, as on the label";
    case Form::timezone:
      return R"(an IANA name such as "Europe/London")";
    case Form::table:
      return key.section->title.starts_with('[')
                 ? "the table `" + std::string{key.section->title} + '`'
                 : "a table { … }";
    case Form::tables:
      return "an array of tables, each begun by `" + std::string{key.section->title} + '`';
    case Form::named_tables:
      return "tables with a name each, begun by `" + std::string{key.section->title} + '`';
    case Form::later:
      return "nothing";
  }
  return {};
}

}  // namespace fieldfare::site
