// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/report_builder.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "fieldfare/base/number_text.h"
#include "fieldfare/wire/internal/conversion.h"
#include "fieldfare/wire/internal/network_number.h"
#include "fieldfare/wire/internal/octet_text.h"

namespace fieldfare::wire {
namespace {

using fleet::FieldLayout;
using fleet::FieldRole;
using fleet::TextCoding;

/// Whole doubles up to here are exact: 2^53.
constexpr double kExactDoubles = 9007199254740992.0;

template <class Integer>
std::optional<Integer> whole_text(std::string_view text) {
  Integer value = 0;
  const char* const end = text.data() + text.size();
  const auto [at, error] = std::from_chars(text.data(), end, value);
  if (error != std::errc{} || at != end) return std::nullopt;
  return value;
}

/// Hex digits, with or without `0x` in front.
std::optional<std::uint64_t> hex_number(std::string_view text) {
  if (text.starts_with("0x") || text.starts_with("0X")) text.remove_prefix(2);
  std::uint64_t value = 0;
  const char* const end = text.data() + text.size();
  const auto [at, error] = std::from_chars(text.data(), end, value, 16);
  if (error != std::errc{} || at != end) return std::nullopt;
  return value;
}

std::optional<std::int64_t> whole_value(double value) {
  if (value != std::floor(value) || std::fabs(value) > kExactDoubles) return std::nullopt;
  return static_cast<std::int64_t>(value);
}

/// Nothing there, whether it says null or NaN.
bool is_absent(const Scalar& value) {
  const auto* const number = std::get_if<double>(&value);
  return std::holds_alternative<std::monostate>(value) || (number && std::isnan(*number));
}

/// A whole number that isn't negative, exact.
std::optional<std::uint64_t> unsigned_of(const Scalar& value) {
  if (const auto* const exact = std::get_if<std::uint64_t>(&value)) return *exact;
  if (const auto* const small = std::get_if<std::int64_t>(&value)) {
    return *small < 0 ? std::nullopt : std::optional{static_cast<std::uint64_t>(*small)};
  }
  if (const auto* const real = std::get_if<double>(&value)) {
    const auto whole = whole_value(*real);
    return whole && *whole >= 0 ? std::optional{static_cast<std::uint64_t>(*whole)} : std::nullopt;
  }
  return std::nullopt;
}

std::optional<std::string> text_of(const Scalar& value) {
  if (const auto* const text = std::get_if<std::string>(&value)) return *text;
  if (const auto number = unsigned_of(value)) return std::to_string(*number);
  return std::nullopt;
}

std::optional<fleet::Octets> octets_of(const FieldLayout& field, const Scalar& value) {
  if (const auto* const octets = std::get_if<fleet::Octets>(&value)) return *octets;
  const auto* const text = std::get_if<std::string>(&value);
  if (text == nullptr) return std::nullopt;
  switch (coding_of(field)) {
    case TextCoding::hex:
      return octets_of_hex(*text);
    case TextCoding::base64:
      return octets_of_base64(*text);
    case TextCoding::plain:
      break;
  }
  return fleet::Octets{text->begin(), text->end()};
}

/// An address of octets, the first the highest.
std::optional<Address> address_of(std::span<const std::uint8_t> octets) {
  if (octets.empty() || octets.size() > 8) return std::nullopt;
  Address address{0, static_cast<std::uint8_t>(2 * octets.size())};
  for (const std::uint8_t octet : octets) address.value = address.value << 8 | octet;
  return address;
}

Address address_of(std::uint64_t number) {
  std::uint8_t digits = 4;
  while (digits < 16 && number >> (4 * digits) != 0) digits += 4;
  return {number, digits};
}

bool is_missing(const FieldLayout& field, std::uint64_t raw) {
  return field.missing && *field.missing >= 0 && static_cast<std::uint64_t>(*field.missing) == raw;
}

bool equals_constant(const FieldLayout& field, const Scalar& value) {
  const fleet::Octets& constant = *field.equals;
  if (octets_of(field, value) == constant) return true;
  const auto expected =
      parse_number({reinterpret_cast<const char*>(constant.data()), constant.size()});
  if (!expected || is_absent(value)) return false;
  if (const auto exact = unsigned_of(value)) return static_cast<double>(*exact) == *expected;
  if (const auto* const small = std::get_if<std::int64_t>(&value)) {
    return static_cast<double>(*small) == *expected;
  }
  const auto* const real = std::get_if<double>(&value);
  return real != nullptr && *real == *expected;
}

/// A raw number of scale units in nanoseconds; exact where the unit is a whole
/// number of them and the number is whole.
std::optional<std::int64_t> since_epoch(const fleet::Conversion& conversion, double raw,
                                        std::optional<std::int64_t> whole) {
  const auto unit_ns = whole_unit_ns(conversion);
  if (!whole || !unit_ns) return whole_ns(raw * conversion.scale + conversion.offset);
  std::int64_t ns = 0;
  if (__builtin_mul_overflow(*whole, *unit_ns, &ns)) return std::nullopt;
  return ns;
}

}  // namespace

TextCoding coding_of(const FieldLayout& field) {
  if (const auto* const place = std::get_if<fleet::AtPointer>(&field.place)) return place->coding;
  if (const auto* const place = std::get_if<fleet::AtColumn>(&field.place)) return place->coding;
  if (const auto* const place = std::get_if<fleet::AtKey>(&field.place)) return place->coding;
  if (const auto* const place = std::get_if<fleet::AfterText>(&field.place)) return place->coding;
  return TextCoding::plain;
}

std::optional<std::int64_t> whole_ns(double seconds) {
  if (!(std::fabs(seconds) < 9.2e9)) return std::nullopt;
  const double whole = std::floor(seconds);
  const double steps = std::fabs(seconds) < 1e6 ? 1e9 : 1e6;
  const auto part = static_cast<std::int64_t>(std::round((seconds - whole) * steps));
  return static_cast<std::int64_t>(whole) * 1'000'000'000 +
         part * static_cast<std::int64_t>(1e9 / steps);
}

double seconds_of(std::int64_t ns) {
  constexpr std::int64_t kPerSecond = 1'000'000'000;
  const std::int64_t whole = ns / kPerSecond;
  return static_cast<double>(whole) + static_cast<double>(ns % kPerSecond) / 1e9;
}

std::optional<std::int64_t> whole_unit_ns(const fleet::Conversion& conversion) {
  const double unit_ns = conversion.scale * 1e9;
  const double whole = std::round(unit_ns);
  if (conversion.offset != 0 || whole == 0 || !(std::fabs(whole) < kExactDoubles))
    return std::nullopt;
  if (std::fabs(unit_ns - whole) > 1e-12 * std::fabs(whole)) return std::nullopt;
  return static_cast<std::int64_t>(whole);
}

void ReportBuilder::begin() {
  report_ = {};
  node_name_.clear();
  receiver_.clear();
  payload_.clear();
  readings_.clear();
  loop_faults_.clear();
  parts_.clear();
  raw_.assign(frame_->fields.size(), std::nullopt);
}

bool ReportBuilder::is_due(std::size_t field) const {
  const auto& when = frame_->fields[field].when;
  if (!when) return true;
  for (std::size_t i = 0; i < field; ++i) {
    if (frame_->fields[i].name != when->field) continue;
    // What a double can't hold exactly says nothing of single bits.
    if (!raw_[i] || !raw_[i]->integer || std::fabs(raw_[i]->value) > kExactDoubles) return false;
    const std::int64_t raw = *raw_[i]->integer;
    if (when->bit) return (static_cast<std::uint64_t>(raw) >> *when->bit & 1) != 0;
    return when->equals ? raw == *when->equals : raw != 0;
  }
  return false;
}

std::optional<std::size_t> ReportBuilder::repetitions(std::size_t field) const {
  const auto& repeat = frame_->fields[field].repeat;
  if (!repeat) return std::nullopt;
  if (const int* const count = std::get_if<int>(&repeat->count)) {
    return static_cast<std::size_t>(*count);
  }
  for (std::size_t i = 0; i < raw_.size(); ++i) {
    if (frame_->fields[i].name != std::get<std::string>(repeat->count)) continue;
    if (!raw_[i]) return std::nullopt;
    const std::int64_t count = raw_[i]->integer.value_or(-1);
    return count < 0 ? kMostRepetitions + 1 : static_cast<std::size_t>(count);
  }
  return std::nullopt;
}

std::optional<BodyFault> ReportBuilder::take_nothing(std::size_t field) const {
  const FieldLayout& layout = frame_->fields[field];
  if (layout.optional) return std::nullopt;
  return layout.equals ? BodyFault::another_kind : BodyFault::missing_field;
}

std::optional<BodyFault> ReportBuilder::take(std::size_t field, std::size_t repetition,
                                             const Scalar& value) {
  const FieldLayout& layout = frame_->fields[field];
  if (is_absent(value)) return take_nothing(field);
  if (repetition > UINT16_MAX) return BodyFault::too_many;
  if (layout.equals && !equals_constant(layout, value)) return BodyFault::another_kind;
  switch (layout.role) {
    case FieldRole::address:
      return take_address(layout, value);
    case FieldRole::name:
    case FieldRole::receiver:
      return take_text(field, value);
    case FieldRole::sequence:
      return take_sequence(layout, value);
    case FieldRole::time:
      return take_time(layout, value);
    case FieldRole::age:
      return take_age(layout, value);
    case FieldRole::network:
      return take_network(field, value);
    case FieldRole::payload:
      return take_payload(layout, value);
    default:
      return take_number(field, repetition, value);
  }
}

std::optional<ReportBuilder::Number> ReportBuilder::number_of(const FieldLayout& field,
                                                              const Scalar& value) {
  if (const auto* const truth = std::get_if<bool>(&value)) {
    return Number{*truth ? 1.0 : 0.0, *truth ? 1 : 0};
  }
  if (const auto* const exact = std::get_if<std::uint64_t>(&value)) {
    const bool fits = *exact <= static_cast<std::uint64_t>(INT64_MAX);
    return Number{static_cast<double>(*exact),
                  fits ? std::optional{static_cast<std::int64_t>(*exact)} : std::nullopt};
  }
  if (const auto* const exact = std::get_if<std::int64_t>(&value)) {
    return Number{static_cast<double>(*exact), *exact};
  }
  if (const auto* const real = std::get_if<double>(&value)) {
    return std::isfinite(*real) ? std::optional{Number{*real, whole_value(*real)}} : std::nullopt;
  }
  const auto* const text = std::get_if<std::string>(&value);
  if (text == nullptr) return std::nullopt;
  for (const auto& [raw, word] : field.words) {
    if (word == *text) return Number{static_cast<double>(raw), raw};
  }
  if (coding_of(field) == TextCoding::hex) {
    const auto whole = hex_number(*text);
    return whole ? number_of(field, Scalar{*whole}) : std::nullopt;
  }
  if (coding_of(field) != TextCoding::plain) return std::nullopt;
  const auto number = parse_number(*text);
  if (!number) return std::nullopt;
  const auto whole = whole_text<std::int64_t>(*text);
  return Number{*number, whole ? whole : whole_value(*number)};
}

std::optional<BodyFault> ReportBuilder::take_number(std::size_t field, std::size_t repetition,
                                                    const Scalar& value) {
  const FieldLayout& layout = frame_->fields[field];
  const auto raw = number_of(layout, value);
  if (!raw) {
    // Parts may be anything: they are there to be stepped over, or for others.
    return layout.role == FieldRole::part ? Fault{} : BodyFault::bad_value;
  }
  raw_[field] = raw;
  if (layout.role == FieldRole::part) {
    parts_.push_back(
        {static_cast<std::uint16_t>(field), static_cast<std::uint16_t>(repetition), raw->value});
    return std::nullopt;
  }
  if (layout.missing && raw->integer == layout.missing) return std::nullopt;
  if (layout.role == FieldRole::reading) return take_reading(field, repetition, *raw);
  return take_quantity(layout, *raw);
}

std::optional<BodyFault> ReportBuilder::take_reading(std::size_t field, std::size_t repetition,
                                                     const Number& raw) {
  const auto index = static_cast<std::uint16_t>(field);
  const Converted converted = convert(frame_->fields[field].conversion, raw.value);
  if (converted.value && !std::isfinite(*converted.value)) return BodyFault::bad_value;
  if (converted.value) {
    readings_.push_back({index, static_cast<std::uint16_t>(repetition), *converted.value});
  } else if (converted.loop) {
    loop_faults_.push_back(
        {index, *converted.loop, converted.scaled, static_cast<std::uint16_t>(repetition)});
  }
  return std::nullopt;
}

std::optional<BodyFault> ReportBuilder::take_quantity(const FieldLayout& field, const Number& raw) {
  const Converted converted = convert(field.conversion, raw.value);
  if (!converted.value) return std::nullopt;
  if (!std::isfinite(*converted.value)) return BodyFault::bad_value;
  switch (field.role) {
    case FieldRole::rssi:
      report_.rssi_dbm = converted.value;
      break;
    case FieldRole::snr:
      report_.snr_db = converted.value;
      break;
    case FieldRole::lqi:
      report_.lqi = converted.value;
      break;
    case FieldRole::noise:
      report_.noise_dbm = converted.value;
      break;
    case FieldRole::supply:
      report_.supply_v = converted.value;
      break;
    default:
      break;
  }
  return std::nullopt;
}

std::optional<BodyFault> ReportBuilder::take_text(std::size_t field, const Scalar& value) {
  const FieldLayout& layout = frame_->fields[field];
  auto text = text_of(value);
  if (!text || !is_label(*text)) return BodyFault::bad_value;
  if (text->empty()) return take_nothing(field);
  (layout.role == FieldRole::name ? node_name_ : receiver_) = std::move(*text);
  return std::nullopt;
}

std::optional<BodyFault> ReportBuilder::take_address(const FieldLayout& field,
                                                     const Scalar& value) {
  const auto* const text = std::get_if<std::string>(&value);
  if (const auto number = unsigned_of(value)) {
    if (is_missing(field, *number)) return std::nullopt;
    report_.address = address_of(*number);
  } else if (text != nullptr && coding_of(field) != TextCoding::base64) {
    report_.address = parse_address(*text);
  } else if (const auto octets = octets_of(field, value)) {
    report_.address = address_of(*octets);
  }
  return report_.address ? Fault{} : BodyFault::bad_value;
}

std::optional<BodyFault> ReportBuilder::take_sequence(const FieldLayout& field,
                                                      const Scalar& value) {
  auto number = unsigned_of(value);
  const auto* const text = std::get_if<std::string>(&value);
  if (text != nullptr && coding_of(field) == TextCoding::plain) {
    number = whole_text<std::uint64_t>(*text);
  } else if (text != nullptr && coding_of(field) == TextCoding::hex) {
    number = hex_number(*text);
  }
  if (!number) return BodyFault::bad_value;
  if (!is_missing(field, *number)) report_.sequence = number;
  return std::nullopt;
}

std::optional<BodyFault> ReportBuilder::take_network(std::size_t field, const Scalar& value) {
  const FieldLayout& layout = frame_->fields[field];
  auto number = unsigned_of(value);
  const auto* const text = std::get_if<std::string>(&value);
  if (text != nullptr && coding_of(layout) == TextCoding::plain) {
    number = text->starts_with("0x") ? hex_number(*text) : whole_text<std::uint64_t>(*text);
  } else if (text != nullptr && coding_of(layout) == TextCoding::hex) {
    number = hex_number(*text);
  } else if (const auto octets = octets_of(layout, value)) {
    if (const auto as_address = address_of(*octets)) number = as_address->value;
  }
  if (!number) return BodyFault::bad_value;
  if (is_missing(layout, *number)) return std::nullopt;
  raw_[field] = number_of(layout, Scalar{*number});
  readings_.push_back({static_cast<std::uint16_t>(field), 0, network_value(*number)});
  return std::nullopt;
}

std::optional<BodyFault> ReportBuilder::take_time(const FieldLayout& field, const Scalar& value) {
  if (const auto* const text = std::get_if<std::string>(&value)) {
    report_.time = parse_rfc3339(*text);
    if (report_.time) return std::nullopt;
  }
  const auto raw = number_of(field, value);
  if (!raw) return BodyFault::bad_value;
  if (field.missing && raw->integer == field.missing) return std::nullopt;
  const auto since = since_epoch(field.conversion, raw->value, raw->integer);
  std::int64_t ns = 0;
  if (!since || __builtin_add_overflow(field.epoch.ns, *since, &ns)) return BodyFault::bad_value;
  report_.time = Instant{ns};
  return std::nullopt;
}

std::optional<BodyFault> ReportBuilder::take_age(const FieldLayout& field, const Scalar& value) {
  const auto raw = number_of(field, value);
  if (!raw) return BodyFault::bad_value;
  if (field.missing && raw->integer == field.missing) return std::nullopt;
  const auto age_ns = since_epoch(field.conversion, raw->value, raw->integer);
  if (!age_ns || *age_ns < 0) return BodyFault::bad_value;
  report_.age = Duration{*age_ns};
  return std::nullopt;
}

std::optional<BodyFault> ReportBuilder::take_payload(const FieldLayout& field,
                                                     const Scalar& value) {
  auto octets = octets_of(field, value);
  if (!octets) return BodyFault::bad_value;
  payload_ = std::move(*octets);
  report_.payload = payload_;
  return std::nullopt;
}

const ReportValues& ReportBuilder::finish() {
  const auto in_order = [](const FieldValue& a, const FieldValue& b) {
    return a.field != b.field ? a.field < b.field : a.repetition < b.repetition;
  };
  std::stable_sort(readings_.begin(), readings_.end(), in_order);
  report_.node_name = node_name_;
  report_.receiver = receiver_;
  report_.readings = readings_;
  report_.loop_faults = loop_faults_;
  report_.parts = parts_;
  return report_;
}

ReportBuilder& ReportBatch::add() {
  if (used_ == builders_.size()) builders_.emplace_back(*frame_);
  ReportBuilder& builder = builders_[used_++];
  builder.begin();
  return builder;
}

void ReportBatch::hand_to(ReportSink& sink) {
  for (std::size_t i = 0; i < used_; ++i) sink.report(builders_[i].finish());
}

}  // namespace fieldfare::wire
