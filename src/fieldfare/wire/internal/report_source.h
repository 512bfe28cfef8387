// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "fieldfare/wire/body_codec.h"
#include "fieldfare/wire/internal/field_rule.h"
#include "fieldfare/wire/internal/raw_number.h"

namespace fieldfare::wire {

/// What a report says of the fields of a layout: the inverse of ReportFiller.
class ReportSource {
 public:
  explicit ReportSource(const ReportValues& report) : report_{report} {}

  const ReportValues& report() const { return report_; }

  /// True where the report has a value for the field.
  bool has(const FieldRule& rule, std::size_t repetition) const;
  /// One more than the highest repetition that has one.
  std::size_t repetitions(const FieldRule& rule) const;
  /// The number to send for the value of a field. Nothing where there is none.
  std::optional<RawNumber> raw(const FieldRule& rule, std::size_t repetition) const;

 private:
  std::optional<double> given(const FieldRule& rule, std::size_t repetition) const;
  std::optional<RawNumber> raw_sequence(const FieldRule& rule) const;
  std::optional<RawNumber> raw_time(const FieldRule& rule) const;
  std::optional<RawNumber> raw_quantity(const FieldRule& rule, std::size_t repetition) const;
  const LoopFault* fault(const FieldRule& rule, std::size_t repetition) const;

  const ReportValues& report_;
};

}  // namespace fieldfare::wire
