// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/report_source.h"

#include <algorithm>

#include "fieldfare/wire/internal/network_number.h"
#include "fieldfare/wire/internal/report_filler.h"

namespace fieldfare::wire {
namespace {

using fleet::FieldRole;

template <class Value>
const Value* find(std::span<const Value> values, const FieldRule& rule, std::size_t repetition) {
  const auto found = std::find_if(values.begin(), values.end(), [&](const Value& value) {
    return value.field == rule.field && value.repetition == repetition;
  });
  return found == values.end() ? nullptr : &*found;
}

template <class Value>
std::size_t repetitions_in(std::span<const Value> values, const FieldRule& rule) {
  std::size_t count = 0;
  for (const Value& value : values) {
    if (value.field == rule.field) count = std::max(count, std::size_t{value.repetition} + 1);
  }
  return count;
}

}  // namespace

const LoopFault* ReportSource::fault(const FieldRule& rule, std::size_t repetition) const {
  return find(report_.loop_faults, rule, repetition);
}

std::optional<double> ReportSource::given(const FieldRule& rule, std::size_t repetition) const {
  if (rule.quantity != nullptr) return report_.*rule.quantity;
  const auto& values = rule.role == FieldRole::part ? report_.parts : report_.readings;
  const FieldValue* const value = find(values, rule, repetition);
  return value == nullptr ? std::nullopt : std::optional{value->value};
}

bool ReportSource::has(const FieldRule& rule, std::size_t repetition) const {
  switch (rule.role) {
    case FieldRole::address:
      return report_.address.has_value();
    case FieldRole::name:
      return !report_.node_name.empty();
    case FieldRole::receiver:
      return !report_.receiver.empty();
    case FieldRole::sequence:
      return report_.sequence.has_value();
    case FieldRole::time:
      return report_.time.has_value();
    case FieldRole::age:
      return report_.age.has_value();
    case FieldRole::payload:
      return report_.payload.has_value();
    default:
      return given(rule, repetition) || fault(rule, repetition) != nullptr;
  }
}

std::size_t ReportSource::repetitions(const FieldRule& rule) const {
  const auto& values = rule.role == FieldRole::part ? report_.parts : report_.readings;
  return std::max(repetitions_in(values, rule), repetitions_in(report_.loop_faults, rule));
}

std::optional<RawNumber> ReportSource::raw(const FieldRule& rule, std::size_t repetition) const {
  switch (rule.role) {
    case FieldRole::address:
      return RawNumber::of_unsigned(report_.address->value);
    case FieldRole::name:
      return number_in(*rule.layout, report_.node_name);
    case FieldRole::receiver:
      return number_in(*rule.layout, report_.receiver);
    case FieldRole::sequence:
      return raw_sequence(rule);
    case FieldRole::time:
    case FieldRole::age:
      return raw_time(rule);
    case FieldRole::network: {
      const auto number = network_number(given(rule, repetition).value_or(-1));
      return number ? std::optional{RawNumber::of_unsigned(*number)} : std::nullopt;
    }
    case FieldRole::payload:
      return std::nullopt;
    default:
      return raw_quantity(rule, repetition);
  }
}

std::optional<RawNumber> ReportSource::raw_sequence(const FieldRule& rule) const {
  if (!report_.sequence || rule.linear.is_identity()) {
    return report_.sequence ? std::optional{RawNumber::of_unsigned(*report_.sequence)}
                            : std::nullopt;
  }
  return RawNumber::of_real(rule.linear.inverse(static_cast<double>(*report_.sequence)));
}

std::optional<RawNumber> ReportSource::raw_time(const FieldRule& rule) const {
  std::int64_t ns = 0;
  if (rule.role == FieldRole::age) {
    if (!report_.age) return std::nullopt;
    ns = report_.age->ns;
  } else if (!report_.time ||
             __builtin_sub_overflow(report_.time->ns, rule.layout->epoch.ns, &ns)) {
    return std::nullopt;
  }
  return rule.time_units.raw(ns);
}

std::optional<RawNumber> ReportSource::raw_quantity(const FieldRule& rule,
                                                    std::size_t repetition) const {
  const auto value = given(rule, repetition);
  if (!value) {
    const LoopFault* const loop = fault(rule, repetition);
    if (loop == nullptr) return std::nullopt;
    return RawNumber::of_real(rule.linear.inverse(loop->ma));
  }
  if (rule.role == FieldRole::part) return RawNumber::of_real(*value);
  const auto raw = rule.converter.unconvert(*value);
  return raw ? std::optional{RawNumber::of_real(*raw)} : std::nullopt;
}

}  // namespace fieldfare::wire
