// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>

#include "fieldfare/wire/body_codec.h"
#include "fieldfare/wire/internal/scalar.h"

namespace fieldfare::wire {

/// What to send for the fields of one report in JSON, CBOR and SenML: the inverse
/// of ReportBuilder.
///
/// Enumerations are sent as words, times without conversion and epoch as RFC 3339
/// text, payloads as octets where the body can hold them. Parts that nothing is
/// said about become what the other fields need: their counts and their presence.
class ReportWriter {
 public:
  ReportWriter(const fleet::FrameFacts& frame, const ReportValues& values)
      : frame_{&frame}, values_{&values} {}

  /// How often a field that repeats is to be sent.
  std::size_t repetitions(std::size_t field) const;

  /// Nothing: leave the field out.
  Result<std::optional<Scalar>, BodyError> scalar(std::size_t field,
                                                  std::size_t repetition = 0) const;

 private:
  using Written = std::optional<Scalar>;

  bool is_due(std::size_t field) const;
  bool is_given(std::size_t field, std::size_t repetition) const;
  const LoopFault* loop_fault(std::size_t field, std::size_t repetition) const;
  std::optional<double> reading(std::size_t field, std::size_t repetition) const;
  std::optional<double> raw(std::size_t field, std::size_t repetition) const;
  std::optional<double> raw_of_part(std::size_t field, std::size_t repetition) const;
  Written known(std::size_t field, std::size_t repetition) const;
  Written number(std::size_t field, std::size_t repetition) const;
  Written octets(const fleet::FieldLayout& field, std::span<const std::uint8_t> octets) const;
  Written network(std::size_t field) const;
  Written address(const fleet::FieldLayout& field) const;
  static Scalar stand_in(const fleet::FieldLayout& field);

  const fleet::FrameFacts* frame_;
  const ReportValues* values_;
};

}  // namespace fieldfare::wire
