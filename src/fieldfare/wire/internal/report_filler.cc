// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/report_filler.h"

#include <algorithm>
#include <array>
#include <charconv>

#include "fieldfare/base/number_text.h"
#include "fieldfare/wire/excerpt.h"
#include "fieldfare/wire/internal/network_number.h"
#include "fieldfare/wire/internal/number.h"
#include "fieldfare/wire/internal/octet_text.h"

namespace fieldfare::wire {
namespace {

using fleet::FieldRole;

std::string_view trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(' ');
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(' ') - first + 1);
}

template <class Integer>
std::optional<Integer> integer_in(std::string_view text) {
  Integer value = 0;
  const char* const end = text.data() + text.size();
  const auto [at, error] = std::from_chars(text.data(), end, value);
  if (error != std::errc{} || at != end) return std::nullopt;
  return value;
}

}  // namespace

bool is_name(std::string_view text) {
  const auto is_control = [](char c) { return static_cast<unsigned char>(c) < ' ' || c == '\x7F'; };
  return std::none_of(text.begin(), text.end(), is_control) &&
         well_formed_size(text) == text.size();
}

std::optional<RawNumber> number_in(const fleet::FieldLayout& field, std::string_view text) {
  const std::string_view word = trimmed(text);
  if (!field.words.empty()) {
    const auto known = std::find_if(field.words.begin(), field.words.end(),
                                    [&](const auto& entry) { return entry.second == word; });
    if (known == field.words.end()) return std::nullopt;
    return RawNumber::of_signed(known->first);
  }
  if (const auto whole = integer_in<std::uint64_t>(word)) return RawNumber::of_unsigned(*whole);
  if (const auto whole = integer_in<std::int64_t>(word)) return RawNumber::of_signed(*whole);
  const auto real = parse_number(word, NumberGrammar::decimal);
  if (!real.ok) return std::nullopt;
  return RawNumber::of_real(real.value);
}

std::optional<std::string> text_for(const fleet::FieldLayout& field, const RawNumber& number) {
  for (const auto& [raw, word] : field.words) {
    if (number.equals(raw)) return word;
  }
  if (!field.words.empty()) return std::nullopt;
  if (number.is_real) return number_text(number.real);
  if (number.is_negative) return std::to_string(static_cast<std::int64_t>(number.integer));
  return std::to_string(number.integer);
}

bool ReportFiller::take_by_role(const FieldRule& rule, std::uint16_t repetition,
                                const RawNumber& raw) {
  switch (rule.role) {
    case FieldRole::part:
      parts_.push_back({rule.field, repetition, raw.value()});
      return true;
    case FieldRole::sequence:
      return take_sequence(rule, raw);
    case FieldRole::time:
    case FieldRole::age:
      return take_time(rule, raw);
    case FieldRole::network:
      return take_network(rule, raw);
    case FieldRole::name:
    case FieldRole::receiver:
      if (const auto text = text_for(*rule.layout, raw)) take_name(rule, *text);
      return true;
    default:
      return true;
  }
}

/// Readings with a sensor behind them, and the numbers that a report has once.
bool ReportFiller::take_sensor(const FieldRule& rule, std::uint16_t repetition,
                               const RawNumber& raw) {
  const Converted converted = rule.converter.convert(raw.value());
  if (converted.loop && *converted.loop != physics::LoopState::ok) {
    loop_faults_.push_back({rule.field, *converted.loop, converted.scaled, repetition});
  }
  if (!converted.value) return true;
  if (rule.quantity == nullptr) {
    readings_.push_back({rule.field, repetition, *converted.value});
  } else {
    report_.*rule.quantity = converted.value;
  }
  return true;
}

bool ReportFiller::take_sequence(const FieldRule& rule, const RawNumber& raw) {
  if (!raw.is_real && rule.linear.is_identity()) {
    if (raw.is_negative) return false;
    report_.sequence = raw.integer;
    return true;
  }
  const double counter = rule.linear(raw.value());
  constexpr double kTooLarge = 0x1p64;
  if (counter < 0 || counter >= kTooLarge || counter != std::floor(counter)) return false;
  report_.sequence = static_cast<std::uint64_t>(counter);
  return true;
}

bool ReportFiller::take_network(const FieldRule& rule, const RawNumber& raw) {
  if (raw.is_real || raw.is_negative) return false;
  readings_.push_back({rule.field, 0, network_value(raw.integer)});
  return true;
}

bool ReportFiller::take_time(const FieldRule& rule, const RawNumber& raw) {
  const auto ns = rule.time_units.ns(raw);
  if (!ns) return false;
  if (rule.role == FieldRole::age) {
    report_.age = Duration{*ns};
    return true;
  }
  Instant time;
  if (__builtin_add_overflow(rule.layout->epoch.ns, *ns, &time.ns)) return false;
  report_.time = time;
  return true;
}

/// Keeps a copy, for texts that don't outlive the report.
void ReportFiller::take_name(const FieldRule& rule, std::string_view text) {
  const bool is_node = rule.role == FieldRole::name;
  std::string& kept = is_node ? node_name_ : receiver_;
  kept = text;
  (is_node ? report_.node_name : report_.receiver) = kept;
}

bool ReportFiller::take_text(const FieldRule& rule, std::uint16_t repetition,
                             std::string_view text) {
  switch (rule.role) {
    case FieldRole::name:
    case FieldRole::receiver:
      (rule.role == FieldRole::name ? report_.node_name : report_.receiver) = text;
      return is_name(text);
    case FieldRole::address:
      report_.address = parse_address(text);
      return report_.address.has_value();
    case FieldRole::time:
      report_.time = parse_rfc3339(text);
      if (report_.time) return true;
      [[fallthrough]];
    default: {
      const auto number = number_in(*rule.layout, text);
      if (number) return take_number(rule, repetition, *number);
      return rule.role == FieldRole::part;
    }
  }
}

bool ReportFiller::take_octets(const FieldRule& rule, std::span<const std::uint8_t> octets) {
  switch (rule.role) {
    case FieldRole::payload:
      report_.payload = octets;
      break;
    case FieldRole::name:
    case FieldRole::receiver:
      take_name(rule, hex_of(octets));
      break;
    default:
      break;
  }
  return true;
}

}  // namespace fieldfare::wire
