// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/report_writer.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include "fieldfare/base/number_text.h"
#include "fieldfare/wire/excerpt.h"
#include "fieldfare/wire/internal/conversion.h"
#include "fieldfare/wire/internal/network_number.h"
#include "fieldfare/wire/internal/octet_text.h"
#include "fieldfare/wire/internal/report_builder.h"

namespace fieldfare::wire {
namespace {

using fleet::FieldLayout;
using fleet::FieldRole;
using fleet::TextCoding;

constexpr double kExactDoubles = 9007199254740992.0;  ///< 2^53

bool is_utf8(std::string_view text) { return well_formed_size(text) == text.size(); }

bool is_octets(FieldRole role) { return role == FieldRole::address || role == FieldRole::payload; }

Scalar whole_scalar(std::int64_t value) {
  return value < 0 ? Scalar{value} : Scalar{static_cast<std::uint64_t>(value)};
}

/// Whole numbers as integers.
Scalar number_scalar(double value) {
  const bool whole = value == std::floor(value) && std::fabs(value) <= kExactDoubles;
  return whole ? whole_scalar(static_cast<std::int64_t>(value)) : Scalar{value};
}

/// The number to send for a reading. Undoing scale and offset leaves digits that
/// nobody sent; of the numbers nearby, the plainest that gives the reading again.
std::optional<double> raw_for(const fleet::Conversion& conversion, double reading) {
  const std::optional<double> raw = unconvert(conversion, reading);
  if (!raw || !std::isfinite(*raw)) return std::nullopt;
  const double step = *raw == 0 ? 1 : std::pow(10.0, std::floor(std::log10(std::fabs(*raw))) - 14);
  const double rounded = parse_number(number_text(std::round(*raw / step) * step)).value_or(*raw);
  for (const double candidate : {std::round(*raw), rounded, *raw, std::nextafter(*raw, HUGE_VAL),
                                 std::nextafter(*raw, -HUGE_VAL)}) {
    if (convert(conversion, candidate).value == reading) return candidate;
  }
  return raw;
}

/// A span of time in units of `scale` seconds.
std::optional<Scalar> span_scalar(const fleet::Conversion& conversion, std::int64_t ns) {
  if (const auto unit_ns = whole_unit_ns(conversion); unit_ns && ns % *unit_ns == 0) {
    return whole_scalar(ns / *unit_ns);
  }
  const double units = (seconds_of(ns) - conversion.offset) / conversion.scale;
  return std::isfinite(units) ? std::optional{number_scalar(units)} : std::nullopt;
}

std::optional<Scalar> time_scalar(const FieldLayout& field, Instant time) {
  const bool plain = field.conversion.scale == 1 && field.conversion.offset == 0;
  if (plain && field.epoch == Instant{}) return Scalar{to_rfc3339(time)};
  std::int64_t ns = 0;
  if (__builtin_sub_overflow(time.ns, field.epoch.ns, &ns)) return std::nullopt;
  return span_scalar(field.conversion, ns);
}

/// A number as its hex digits; nothing where it isn't whole and positive. Text stays.
std::optional<Scalar> in_hex(const Scalar& value) {
  if (std::holds_alternative<std::string>(value)) return value;
  const auto* const number = std::get_if<std::uint64_t>(&value);
  if (number == nullptr) return std::nullopt;
  std::array<char, 16> digits{};
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), *number, 16).ptr;
  return Scalar{"0x" + std::string{digits.data(), end}};
}

std::optional<Scalar> text_scalar(std::string_view text) {
  return is_utf8(text) ? std::optional{Scalar{std::string{text}}} : std::nullopt;
}

std::optional<Scalar> label_scalar(std::string_view text) {
  return is_label(text) ? text_scalar(text) : std::nullopt;
}

const FieldValue* find(std::span<const FieldValue> values, std::size_t field,
                       std::size_t repetition) {
  const auto found = std::find_if(values.begin(), values.end(), [&](const FieldValue& value) {
    return value.field == field && value.repetition == repetition;
  });
  return found == values.end() ? nullptr : &*found;
}

/// One more than the highest repetition of a field that has a value.
template <class Value>
std::int64_t count_of(std::span<const Value> values, std::size_t field) {
  std::int64_t count = 0;
  for (const Value& value : values) {
    if (value.field == field) count = std::max(count, std::int64_t{value.repetition} + 1);
  }
  return count;
}

bool is_counted_by(const FieldLayout& field, std::string_view name) {
  const auto* const counter =
      field.repeat ? std::get_if<std::string>(&field.repeat->count) : nullptr;
  return counter != nullptr && *counter == name;
}

std::optional<double> quantity(const ReportValues& values, FieldRole role) {
  switch (role) {
    case FieldRole::rssi:
      return values.rssi_dbm;
    case FieldRole::snr:
      return values.snr_db;
    case FieldRole::lqi:
      return values.lqi;
    case FieldRole::noise:
      return values.noise_dbm;
    case FieldRole::supply:
      return values.supply_v;
    default:
      return std::nullopt;
  }
}

}  // namespace

std::size_t ReportWriter::repetitions(std::size_t field) const {
  const auto& count = frame_->fields[field].repeat->count;
  if (const int* const fixed = std::get_if<int>(&count)) return static_cast<std::size_t>(*fixed);
  for (std::size_t i = 0; i < frame_->fields.size(); ++i) {
    if (frame_->fields[i].name != std::get<std::string>(count)) continue;
    if (const auto given = raw(i, 0)) {
      return static_cast<std::size_t>(
          std::clamp(*given, 0.0, static_cast<double>(kMostRepetitions)));
    }
  }
  return 0;
}

bool ReportWriter::is_due(std::size_t field) const {
  const auto& when = frame_->fields[field].when;
  if (!when) return true;
  for (std::size_t i = 0; i < field; ++i) {
    if (frame_->fields[i].name != when->field) continue;
    const auto given = raw(i, 0);
    if (!given || std::fabs(*given) > kExactDoubles) return false;
    const auto whole = static_cast<std::int64_t>(*given);
    if (when->bit) return (static_cast<std::uint64_t>(whole) >> *when->bit & 1) != 0;
    return when->equals ? whole == *when->equals : whole != 0;
  }
  return false;
}

/// Whether the report says what the field should hold.
bool ReportWriter::is_given(std::size_t field, std::size_t repetition) const {
  switch (frame_->fields[field].role) {
    case FieldRole::address:
      return values_->address.has_value();
    case FieldRole::name:
      return !values_->node_name.empty();
    case FieldRole::receiver:
      return !values_->receiver.empty();
    case FieldRole::sequence:
      return values_->sequence.has_value();
    case FieldRole::time:
      return values_->time.has_value();
    case FieldRole::age:
      return values_->age.has_value();
    case FieldRole::payload:
      return values_->payload.has_value();
    case FieldRole::part:
      return raw_of_part(field, repetition).has_value();
    default:
      return reading(field, repetition) || loop_fault(field, repetition) != nullptr;
  }
}

const LoopFault* ReportWriter::loop_fault(std::size_t field, std::size_t repetition) const {
  for (const LoopFault& fault : values_->loop_faults) {
    if (fault.field == field && fault.repetition == repetition) return &fault;
  }
  return nullptr;
}

std::optional<double> ReportWriter::reading(std::size_t field, std::size_t repetition) const {
  const FieldLayout& layout = frame_->fields[field];
  if (layout.role != FieldRole::reading && layout.role != FieldRole::network) {
    return quantity(*values_, layout.role);
  }
  const FieldValue* const found = find(values_->readings, field, repetition);
  return found ? std::optional{found->value} : std::nullopt;
}

/// The number that stands for what is known of a field.
std::optional<double> ReportWriter::raw(std::size_t field, std::size_t repetition) const {
  const FieldLayout& layout = frame_->fields[field];
  if (layout.role == FieldRole::part) return raw_of_part(field, repetition);
  if (const auto value = reading(field, repetition)) return raw_for(layout.conversion, *value);
  if (const LoopFault* const fault = loop_fault(field, repetition)) {
    return (fault->ma - layout.conversion.offset) / layout.conversion.scale;
  }
  return std::nullopt;
}

/// What is said of a part, else what the fields need that refer to it.
std::optional<double> ReportWriter::raw_of_part(std::size_t field, std::size_t repetition) const {
  if (const FieldValue* const given = find(values_->parts, field, repetition)) return given->value;
  const std::string& name = frame_->fields[field].name;
  std::optional<std::int64_t> raw;
  for (std::size_t i = 0; i < frame_->fields.size(); ++i) {
    const FieldLayout& other = frame_->fields[i];
    if (is_counted_by(other, name)) {
      const auto count =
          std::max(count_of(values_->readings, i), count_of(values_->loop_faults, i));
      if (count > 0) raw = std::max(raw.value_or(0), count);
    }
    if (!other.when || other.when->field != name || i <= field || !is_given(i, 0)) continue;
    if (other.when->bit) {
      raw = raw.value_or(0) | std::int64_t{1} << *other.when->bit;
    } else {
      raw = other.when->equals.value_or(1);
    }
  }
  return raw ? std::optional{static_cast<double>(*raw)} : std::nullopt;
}

ReportWriter::Written ReportWriter::number(std::size_t field, std::size_t repetition) const {
  const auto given = raw(field, repetition);
  if (!given || !std::isfinite(*given)) return std::nullopt;
  const FieldLayout& layout = frame_->fields[field];
  const bool would_be_missing = layout.missing && static_cast<double>(*layout.missing) == *given;
  if (would_be_missing && layout.role != FieldRole::part) return std::nullopt;
  for (const auto& [word_raw, word] : layout.words) {
    if (static_cast<double>(word_raw) == *given) return text_scalar(word);
  }
  return number_scalar(*given);
}

ReportWriter::Written ReportWriter::octets(const FieldLayout& field,
                                           std::span<const std::uint8_t> octets) const {
  switch (coding_of(field)) {
    case TextCoding::hex:
      return Scalar{hex_of(octets)};
    case TextCoding::base64:
      return Scalar{base64_of(octets)};
    case TextCoding::plain:
      break;
  }
  if (frame_->body != fleet::Body::json && is_octets(field.role)) {
    return Scalar{fleet::Octets{octets.begin(), octets.end()}};
  }
  return text_scalar({reinterpret_cast<const char*>(octets.data()), octets.size()});
}

ReportWriter::Written ReportWriter::address(const FieldLayout& field) const {
  if (coding_of(field) != TextCoding::base64) return Scalar{values_->address->text()};
  const auto octets = octets_of_hex(values_->address->text());
  return octets ? Written{Scalar{base64_of(*octets)}} : std::nullopt;
}

ReportWriter::Written ReportWriter::network(std::size_t field) const {
  const FieldLayout& layout = frame_->fields[field];
  const auto number = network_number(reading(field, 0).value_or(-1));
  const bool is_missing = number && layout.missing && *layout.missing >= 0 &&
                          static_cast<std::uint64_t>(*layout.missing) == *number;
  if (!number || is_missing) return std::nullopt;
  if (coding_of(layout) != TextCoding::base64) return Scalar{*number};
  fleet::Octets big_endian;
  for (int shift = 56; shift >= 0; shift -= 8) {
    big_endian.push_back(static_cast<std::uint8_t>(*number >> shift));
  }
  return Scalar{base64_of(big_endian)};
}

/// The value of a field, where the report has it and it can be sent.
ReportWriter::Written ReportWriter::known(std::size_t field, std::size_t repetition) const {
  const FieldLayout& layout = frame_->fields[field];
  switch (layout.role) {
    case FieldRole::address:
      return values_->address ? address(layout) : std::nullopt;
    case FieldRole::name:
      return values_->node_name.empty() ? std::nullopt : label_scalar(values_->node_name);
    case FieldRole::receiver:
      return values_->receiver.empty() ? std::nullopt : label_scalar(values_->receiver);
    case FieldRole::sequence:
      return values_->sequence ? Written{Scalar{*values_->sequence}} : std::nullopt;
    case FieldRole::time:
      return values_->time ? time_scalar(layout, *values_->time) : std::nullopt;
    case FieldRole::age:
      return values_->age ? span_scalar(layout.conversion, values_->age->ns) : std::nullopt;
    case FieldRole::network:
      return network(field);
    case FieldRole::payload:
      return values_->payload ? octets(layout, *values_->payload) : std::nullopt;
    default:
      return number(field, repetition);
  }
}

/// What stands for no value where something must stand.
Scalar ReportWriter::stand_in(const FieldLayout& field) {
  if (field.missing) return whole_scalar(*field.missing);
  switch (field.role) {
    case FieldRole::address:
      return std::string{"0000"};
    case FieldRole::name:
    case FieldRole::receiver:
      return std::string{"0"};
    case FieldRole::payload:
      return std::string{};
    default:
      return std::uint64_t{0};
  }
}

Result<std::optional<Scalar>, BodyError> ReportWriter::scalar(std::size_t field,
                                                              std::size_t repetition) const {
  const FieldLayout& layout = frame_->fields[field];
  const Failure does_not_fit{BodyError{BodyFault::does_not_fit, 0, field}};
  if (!is_due(field)) return std::optional<Scalar>{};
  if (layout.equals) {
    auto constant = octets(layout, *layout.equals);
    if (!constant) return does_not_fit;
    const auto* const text = std::get_if<std::string>(&*constant);
    const auto number = text != nullptr ? parse_number(*text) : std::nullopt;
    // A constant that reads as a number is sent as one, as its kind most likely does.
    return number && number_text(*number) == *text ? number_scalar(*number) : constant;
  }
  auto value = known(field, repetition);
  if (!is_given(field, repetition)) {
    if (layout.optional) return std::optional<Scalar>{};
    value = stand_in(layout);
  }
  if (value && coding_of(layout) == TextCoding::hex) value = in_hex(*value);
  if (!value) return does_not_fit;
  return value;
}

}  // namespace fieldfare::wire
