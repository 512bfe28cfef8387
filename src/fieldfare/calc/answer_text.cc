// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <array>
#include <charconv>
#include <nlohmann/json.hpp>

#include "fieldfare/base/number_text.h"
#include "fieldfare/calc/calculator.h"

namespace fieldfare::calc {
namespace {

/// Replaces what isn't UTF-8: a path may be anything.
std::string json_string(const std::string& text) {
  return nlohmann::json(text).dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

/// `value` with numbers written by `number` and put between `before` and `after`
/// where there are several.
template <class Number>
std::string joined(const std::vector<double>& values, Number number, std::string_view separator) {
  std::string out;
  for (const double value : values) {
    if (!out.empty()) out += separator;
    out += number(value);
  }
  return out;
}

std::string json_value(const Value& value) {
  if (const auto* number = std::get_if<double>(&value)) return number_text(*number);
  if (const auto* truth = std::get_if<bool>(&value)) return *truth ? "true" : "false";
  if (const auto* text = std::get_if<std::string>(&value)) return json_string(*text);
  if (const auto* series = std::get_if<std::vector<double>>(&value)) {
    return '[' + joined(*series, number_text, ", ") + ']';
  }
  return "null";
}

std::string json_object(const Fields& fields) {
  std::string out = "{";
  for (const auto& [key, value] : fields) {
    if (out.size() > 1) out += ", ";
    out += json_string(key) + ": " + json_value(value);
  }
  return out + '}';
}

std::string rounded(double value) {
  std::array<char, 32> text{};
  const auto written =
      std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::general, 7);
  return {text.data(), written.ptr};
}

std::string people_value(const Value& value) {
  constexpr std::size_t kMostShown = 30;
  if (const auto* number = std::get_if<double>(&value)) return rounded(*number);
  if (const auto* truth = std::get_if<bool>(&value)) return *truth ? "yes" : "no";
  if (const auto* text = std::get_if<std::string>(&value)) return *text;
  const auto* series = std::get_if<std::vector<double>>(&value);
  if (series == nullptr) return "none";
  if (series->size() <= kMostShown) return joined(*series, rounded, " ");
  const std::vector<double> first{series->begin(), series->begin() + kMostShown};
  return joined(first, rounded, " ") + " ... (" + std::to_string(series->size()) + " in all)";
}

void append_lines(std::string& out, const Fields& fields, std::size_t width) {
  for (const auto& [key, value] : fields) {
    out += "  " + key + std::string(width - key.size() + 2, ' ') + people_value(value) + '\n';
  }
}

}  // namespace

std::string to_json(const Answer& answer) {
  std::string notes;
  for (const std::string& note : answer.notes) {
    notes += (notes.empty() ? "" : ", ") + json_string(note);
  }
  return "{\"calc\": " + json_string(answer.name) + ", \"inputs\": " + json_object(answer.inputs) +
         ", \"result\": " + json_object(answer.result) +
         ", \"source\": " + json_string(answer.source) + ", \"notes\": [" + notes + "]}";
}

std::string to_text(const Answer& answer) {
  std::size_t width = 0;
  for (const Fields* fields : {&answer.inputs, &answer.result}) {
    for (const auto& [key, value] : *fields) width = std::max(width, key.size());
  }
  std::string out = answer.name + '\n';
  append_lines(out, answer.inputs, width);
  out += "gives\n";
  append_lines(out, answer.result, width);
  for (const std::string& note : answer.notes) out += "note: " + note + '\n';
  return out + "source: " + answer.source + '\n';
}

}  // namespace fieldfare::calc
