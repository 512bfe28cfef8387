// SPDX-License-Identifier: Apache-2.0
// What BinaryEncoder writes into single fields.

#include <algorithm>
#include <limits>

#include "fieldfare/wire/internal/binary_encoder.h"
#include "fieldfare/wire/internal/octet_text.h"
#include "fieldfare/wire/internal/report_filler.h"

namespace fieldfare::wire {
namespace {

using fleet::FieldRole;

bool is_decimal(std::uint64_t bits) { return NumberShape::decimal(bits).has_value(); }

fleet::Octets octets_from(std::string_view text) { return {text.begin(), text.end()}; }

}  // namespace

bool BinaryEncoder::is_given(const BinaryField& field, std::size_t repetition) const {
  return source_.has(field, repetition);
}

/// What stands in a number's place when there is no value.
RawNumber BinaryEncoder::stand_in(const BinaryField& field) const {
  if (field.is_referred_to && field.role == FieldRole::part) {
    return RawNumber::of_signed(plans_[field.field].needed);
  }
  if (field.has_missing) return RawNumber::of_signed(field.missing);
  const bool is_real =
      field.form == BinaryField::Form::number && field.shape.kind() == fleet::NumberKind::real;
  if (is_real) return RawNumber::of_real(std::numeric_limits<double>::quiet_NaN());
  return RawNumber::of_unsigned(0);
}

std::optional<std::uint64_t> BinaryEncoder::bits_of(const BinaryField& field,
                                                    std::size_t repetition) const {
  if (!is_given(field, repetition)) return field.shape.bits_for(stand_in(field));
  const auto bits = field.role == FieldRole::address ? address_bits(field)
                                                     : [&]() -> std::optional<std::uint64_t> {
    const auto raw = source_.raw(field, repetition);
    return raw ? field.shape.bits_for(*raw) : std::nullopt;
  }();
  // What would be read as `not measured` can't be sent as a measurement.
  if (bits && field.has_missing &&
      bits == field.shape.bits_for(RawNumber::of_signed(field.missing))) {
    return std::nullopt;
  }
  return bits;
}

std::optional<std::uint64_t> BinaryEncoder::address_bits(const BinaryField& field) const {
  const Address address = *source_.report().address;
  if (address.digits != field.shape.digits() || !field.shape.has_room_for(address.value)) {
    return std::nullopt;
  }
  if (field.shape.kind() == fleet::NumberKind::bcd && !is_decimal(address.value)) {
    return std::nullopt;
  }
  return address.value;
}

/// The octets of a field that is no number, or holds a constant.
std::optional<fleet::Octets> BinaryEncoder::content(const BinaryField& field,
                                                    std::size_t repetition) const {
  std::optional<fleet::Octets> octets = field.layout->equals;
  if (!octets && field.form == BinaryField::Form::text) {
    const auto text = text_of(field, repetition);
    if (!text || text->find('\0') != std::string::npos) return std::nullopt;
    octets = octets_from(*text);
  } else if (!octets) {
    octets = octets_of(field);
  }
  if (!octets) return std::nullopt;
  if (field.form == BinaryField::Form::text && field.octets == 0) {
    const std::size_t next = std::size_t{field.field} + 1;
    const bool is_last =
        next == layout_.fields.size() || layout_.fields[next].anchor != BinaryField::Anchor::behind;
    if (!is_last) octets->push_back(0);
  } else if (field.octets > 0) {
    if (octets->size() > field.octets) return std::nullopt;
    if (octets->size() < field.octets && field.form != BinaryField::Form::text) return std::nullopt;
    octets->resize(field.octets);
  }
  return octets;
}

std::optional<fleet::Octets> BinaryEncoder::octets_of(const BinaryField& field) const {
  const ReportValues& report = source_.report();
  if (!is_given(field, 0)) return fleet::Octets(field.octets);
  switch (field.role) {
    case FieldRole::address: {
      const auto bits = address_bits(field);
      if (!bits) return std::nullopt;
      fleet::Octets octets(field.octets);
      field.shape.put(octets, 0, *bits);
      return octets;
    }
    case FieldRole::network: {
      const auto bits = bits_of(field, 0);
      if (!bits) return std::nullopt;
      fleet::Octets octets(field.octets);
      field.shape.put(octets, 0, *bits);
      return octets;
    }
    case FieldRole::payload:
      return fleet::Octets{report.payload->begin(), report.payload->end()};
    case FieldRole::name:
      return octets_of_hex(report.node_name);
    case FieldRole::receiver:
      return octets_of_hex(report.receiver);
    default:
      return fleet::Octets(field.octets);
  }
}

std::optional<std::string> BinaryEncoder::text_of(const BinaryField& field,
                                                  std::size_t repetition) const {
  const ReportValues& report = source_.report();
  const bool is_named = field.role == FieldRole::name || field.role == FieldRole::receiver;
  if (!is_given(field, repetition)) {
    if (field.layout->optional || is_named) return std::string{};
    return text_for(*field.layout, stand_in(field));
  }
  if (is_named) {
    const auto name = field.role == FieldRole::name ? report.node_name : report.receiver;
    return is_name(name) ? std::optional{std::string{name}} : std::nullopt;
  }
  if (field.role == FieldRole::address) return report.address->text();
  if (field.role == FieldRole::time && field.linear.is_identity() &&
      field.layout->epoch == Instant{}) {
    return to_rfc3339(*report.time);
  }
  const auto raw = source_.raw(field, repetition);
  if (!raw || field.is_missing(*raw)) return std::nullopt;
  return text_for(*field.layout, *raw);
}

}  // namespace fieldfare::wire
