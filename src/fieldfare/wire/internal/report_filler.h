// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/wire/body_codec.h"
#include "fieldfare/wire/internal/field_rule.h"
#include "fieldfare/wire/internal/raw_number.h"

namespace fieldfare::wire {

/// Puts reports together from the numbers, texts and octets of binary bodies. The
/// take functions are false where a value is no value for its field. Readings
/// stand in the header so that they are inlined: every frame has several.
class ReportFiller {
 public:
  void begin() {
    report_ = {};
    readings_.clear();
    loop_faults_.clear();
    parts_.clear();
  }

  bool take_number(const FieldRule& rule, std::uint16_t repetition, const RawNumber& raw) {
    if (rule.is_missing(raw) || (raw.is_real && !std::isfinite(raw.real))) return true;
    if (!rule.is_linear) return take_sensor(rule, repetition, raw);
    if (rule.role == fleet::FieldRole::reading) {
      readings_.push_back({rule.field, repetition, rule.linear(raw.value())});
      return true;
    }
    if (rule.quantity != nullptr) {
      report_.*rule.quantity = rule.linear(raw.value());
      return true;
    }
    return take_by_role(rule, repetition, raw);
  }
  /// The digits are the hex digits that a label would show.
  void take_address(std::uint64_t value, std::uint8_t digits) { report_.address = {value, digits}; }
  /// The text must live as long as the report.
  bool take_text(const FieldRule& rule, std::uint16_t repetition, std::string_view text);
  /// The octets must live as long as the report.
  bool take_octets(const FieldRule& rule, std::span<const std::uint8_t> octets);

  /// Valid until begin().
  const ReportValues& finish() {
    report_.readings = readings_;
    report_.loop_faults = loop_faults_;
    report_.parts = parts_;
    return report_;
  }

 private:
  bool take_by_role(const FieldRule& rule, std::uint16_t repetition, const RawNumber& raw);
  bool take_sensor(const FieldRule& rule, std::uint16_t repetition, const RawNumber& raw);
  bool take_sequence(const FieldRule& rule, const RawNumber& raw);
  bool take_network(const FieldRule& rule, const RawNumber& raw);
  bool take_time(const FieldRule& rule, const RawNumber& raw);
  void take_name(const FieldRule& rule, std::string_view text);

  ReportValues report_;
  std::vector<FieldValue> readings_;
  std::vector<LoopFault> loop_faults_;
  std::vector<FieldValue> parts_;
  std::string node_name_;  ///< of names that don't stand in the frame as such
  std::string receiver_;
};

/// A number as text says it: a word of the enumeration, or decimal digits with
/// blanks around them. Nothing for anything else.
std::optional<RawNumber> number_in(const fleet::FieldLayout& field, std::string_view text);
/// The inverse: nothing where no text stands for it.
std::optional<std::string> text_for(const fleet::FieldLayout& field, const RawNumber& number);

/// True for UTF-8 without control characters: what can be a name.
bool is_name(std::string_view text);

}  // namespace fieldfare::wire
