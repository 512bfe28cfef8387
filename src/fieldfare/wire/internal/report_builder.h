// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/wire/body_codec.h"
#include "fieldfare/wire/internal/scalar.h"

namespace fieldfare::wire {

/// Puts one report together from the single values that stand at the places of
/// its fields, in JSON, CBOR and SenML alike.
///
/// - Readings and other numbers: a number; a truth as 0 or 1; a word of the
///   enumeration; numeric text where the coding is plain, hex digits where it is hex.
///   NaN is as good as null: nothing there. Infinity is a bad value.
/// - Addresses: hex text; octets, or their hex or base64 text; a whole number,
///   which has 4, 8, 12 or 16 hex digits, the fewest that hold it.
/// - Names and receivers: text without control characters; a whole number is its own text.
/// - Times: RFC 3339 text, or a number times `scale` seconds since `epoch`. Ages:
///   a number times `scale` seconds, not negative.
/// - Sequences: a whole number below 2^64, exact, or its text.
/// - Numbers of networks: a whole number below 2^64 or its text, hex where that is the
///   coding or `0x` stands in front; up to 8 octets or their base64 text.
/// - Payloads: octets, their hex or base64 text, or where the coding is plain the
///   characters themselves.
/// - Fields with `equals`: the same octets or characters, or the same number.
/// - A value that is `missing`, and what the conversion makes no measurement of,
///   counts as there and gives nothing.
class ReportBuilder {
 public:
  explicit ReportBuilder(const fleet::FrameFacts& frame) : frame_{&frame} {}

  void begin();

  /// True where the conditions of the field hold: it should be there.
  bool is_due(std::size_t field) const;
  /// How often a field comes that repeats, as far as that is known. More than
  /// kMostRepetitions where its counter says no number that can be.
  std::optional<std::size_t> repetitions(std::size_t field) const;

  /// `repetition` from 0; of fields that don't repeat 0.
  std::optional<BodyFault> take(std::size_t field, std::size_t repetition, const Scalar& value);
  /// What it means that a field has no value at its place.
  std::optional<BodyFault> take_nothing(std::size_t field) const;

  void set_time(Instant time) { report_.time = time; }
  void set_age(Duration age) { report_.age = age; }

  /// Valid until begin().
  const ReportValues& finish();

 private:
  struct Number {
    double value = 0;
    std::optional<std::int64_t> integer;  ///< where it is one that fits
  };
  using Fault = std::optional<BodyFault>;

  static std::optional<Number> number_of(const fleet::FieldLayout& field, const Scalar& value);
  Fault take_number(std::size_t field, std::size_t repetition, const Scalar& value);
  Fault take_reading(std::size_t field, std::size_t repetition, const Number& raw);
  Fault take_quantity(const fleet::FieldLayout& field, const Number& raw);
  Fault take_text(std::size_t field, const Scalar& value);
  Fault take_address(const fleet::FieldLayout& field, const Scalar& value);
  Fault take_sequence(const fleet::FieldLayout& field, const Scalar& value);
  Fault take_network(std::size_t field, const Scalar& value);
  Fault take_time(const fleet::FieldLayout& field, const Scalar& value);
  Fault take_age(const fleet::FieldLayout& field, const Scalar& value);
  Fault take_payload(const fleet::FieldLayout& field, const Scalar& value);

  const fleet::FrameFacts* frame_;
  ReportValues report_;
  std::string node_name_;
  std::string receiver_;
  fleet::Octets payload_;
  std::vector<FieldValue> readings_;
  std::vector<LoopFault> loop_faults_;
  std::vector<FieldValue> parts_;
  std::vector<std::optional<Number>> raw_;  ///< by field: what others refer to
};

/// The reports of a body, kept until all of it was read.
class ReportBatch {
 public:
  explicit ReportBatch(const fleet::FrameFacts& frame) : frame_{&frame} {}

  void clear() { used_ = 0; }
  std::size_t size() const { return used_; }
  /// A builder that has begun. The ones before it stay where they are.
  ReportBuilder& add();
  ReportBuilder& operator[](std::size_t index) { return builders_[index]; }
  void hand_to(ReportSink& sink);

 private:
  const fleet::FrameFacts* frame_;
  std::deque<ReportBuilder> builders_;
  std::size_t used_ = 0;
};

/// How a field is coded where its place says so, else plain.
fleet::TextCoding coding_of(const fleet::FieldLayout& field);

/// Seconds, as a double, in nanoseconds: beyond a million seconds, where a double
/// holds no single ones, to the microsecond. Nothing beyond the range of Instant.
std::optional<std::int64_t> whole_ns(double seconds);

/// The inverse: the double nearest to a number of nanoseconds.
double seconds_of(std::int64_t ns);

/// The unit in which a time or an age is sent, where it is a whole number of
/// nanoseconds and nothing is added.
std::optional<std::int64_t> whole_unit_ns(const fleet::Conversion& conversion);

}  // namespace fieldfare::wire
