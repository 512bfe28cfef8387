// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/calc/internal/read_value.h"

#include <algorithm>
#include <cmath>

#include "fieldfare/base/address.h"
#include "fieldfare/base/nearest.h"
#include "fieldfare/base/number_text.h"

namespace fieldfare::calc {
namespace {

using Read = Result<Value, std::string>;

constexpr std::size_t kMostOctets = 1'000'000;

std::string quoted(std::string_view text) {
  constexpr std::size_t kMostShown = 40;
  std::string out = "`";
  out += text.substr(0, kMostShown);
  if (text.size() > kMostShown) out += "...";
  return out + "`";
}

Failure<std::string> wrong(const Key& key, const std::string& expected, std::string_view text) {
  return Failure{quoted(key.name) + " must be " + expected + ", not " + quoted(text)};
}

std::string_view trimmed(std::string_view text) {
  while (text.starts_with(' ')) text.remove_prefix(1);
  while (text.ends_with(' ')) text.remove_suffix(1);
  return text;
}

/// The parts between commas, blanks around them taken off.
std::vector<std::string_view> parts_of(std::string_view text) {
  std::vector<std::string_view> out;
  std::size_t start = 0;
  for (std::size_t comma = text.find(','); comma != std::string_view::npos;
       comma = text.find(',', start)) {
    out.push_back(trimmed(text.substr(start, comma - start)));
    start = comma + 1;
  }
  out.push_back(trimmed(text.substr(start)));
  return out;
}

Read read_number(const Key& key, std::string_view text) {
  const bool whole = key.kind == KeyKind::whole;
  const std::string range = key.bounds.text();
  const std::string kind = whole ? "a whole number" : "a number";
  const std::string expected = range == "any" ? kind : kind + ' ' + range;
  const auto value = parse_number(text);
  if (!value || !key.bounds.hold(*value)) return wrong(key, expected, text);
  if (whole && std::trunc(*value) != *value) return wrong(key, expected, text);
  return Value{*value};
}

Failure<std::string> wrong_count(const Key& key, std::string_view what, std::size_t count) {
  return Failure{quoted(key.name) + " must hold " + std::to_string(key.least_count) + " to " +
                 std::to_string(kLongestSeries) + ' ' + std::string{what} +
                 " separated by commas, not " + std::to_string(count)};
}

Read read_series(const Key& key, std::string_view text) {
  const std::vector<std::string_view> parts = parts_of(text);
  if (parts.size() < key.least_count || parts.size() > kLongestSeries) {
    return wrong_count(key, "numbers", parts.size());
  }
  std::vector<double> out;
  out.reserve(parts.size());
  for (const std::string_view part : parts) {
    const auto value = parse_number(part);
    if (!value || !key.bounds.hold(*value)) {
      return wrong(key, "numbers separated by commas, each " + key.bounds.text(), part);
    }
    out.push_back(*value);
  }
  return Value{std::move(out)};
}

char small(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

Read read_choice(const Key& key, std::string_view text) {
  for (const std::string_view word : key.choices) {
    if (std::ranges::equal(word, text, {}, small, small)) return Value{std::string{word}};
  }
  std::string expected = "one of";
  for (std::size_t i = 0; i < key.choices.size(); ++i) {
    expected += i == 0 ? " " : ", ";
    expected += key.choices[i];
  }
  const auto nearest = nearest_name(text, key.choices);
  if (nearest) expected += " (did you mean " + quoted(*nearest) + "?)";
  return wrong(key, expected, text);
}

Read read_octets(const Key& key, std::string_view text) {
  constexpr std::string_view kHex = "0123456789ABCDEF";
  std::string hex;
  for (const char c : text) {
    if (c == ' ' || c == ':') continue;
    const char upper = c >= 'a' && c <= 'f' ? static_cast<char>(c - 'a' + 'A') : c;
    if (kHex.find(upper) == std::string_view::npos) return wrong(key, "pairs of hex digits", text);
    hex += upper;
  }
  if (hex.size() % 2 != 0) return wrong(key, "pairs of hex digits, with none left over", text);
  if (hex.size() / 2 > kMostOctets) return wrong(key, "at most 1000000 octets", text);
  return Value{std::move(hex)};
}

Read read_addresses(const Key& key, std::string_view text) {
  const std::vector<std::string_view> parts = parts_of(text);
  if (parts.size() < key.least_count || parts.size() > kLongestSeries) {
    return wrong_count(key, "addresses", parts.size());
  }
  std::string out;
  for (const std::string_view part : parts) {
    const auto address = parse_address(part);
    if (!address) return wrong(key, "addresses of 1 to 16 hex digits separated by commas", part);
    if (!out.empty()) out += ',';
    out += address->text();
  }
  return Value{std::move(out)};
}

}  // namespace

std::string Bounds::text() const {
  const bool has_low = std::isfinite(low), has_high = std::isfinite(high);
  std::string out;
  if (has_low) out = (low_inside ? "from " : "above ") + number_text(low);
  if (has_low && has_high) out += high_inside ? " to " : " and ";
  if (has_high && !has_low) out += high_inside ? "up to " : "";
  if (has_high && !high_inside) out += "below ";
  if (has_high) out += number_text(high);
  return out.empty() ? "any" : out;
}

Result<Value, std::string> read_value(const Key& key, std::string_view text) {
  switch (key.kind) {
    case KeyKind::number:
    case KeyKind::whole:
      return read_number(key, text);
    case KeyKind::series:
      return read_series(key, text);
    case KeyKind::choice:
      return read_choice(key, text);
    case KeyKind::octets:
      return read_octets(key, text);
    case KeyKind::addresses:
      return read_addresses(key, text);
    case KeyKind::file:
      if (text.empty()) return wrong(key, "the path of a file", text);
      return Value{std::string{text}};
  }
  return wrong(key, "of a known kind", text);
}

}  // namespace fieldfare::calc
