// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/wire/internal/field_rule.h"
#include "fieldfare/wire/internal/number_shape.h"

namespace fieldfare::wire {

/// A layout of octets as a flat list of what to do, field by field.
///
/// Fields stand in two groups. Those in front count from the frame's first octet
/// and end where the check at the end begins, or a field that counts from the
/// end; the first of them stands behind `start`, length and check as far as these
/// stand in front without a gap. The others count from the end.
struct BinaryField : FieldRule {
  enum class Form : std::uint8_t { number, octets, text };
  enum class Anchor : std::uint8_t { behind, front, end };
  static constexpr std::size_t kNoField = static_cast<std::size_t>(-1);

  BinaryField(const fleet::FrameFacts& frame, std::size_t index);

  /// The short ways through the decoder, for what stands in most frames: fields of
  /// known width that come once, always, and that no other field refers to.
  enum class Way : std::uint8_t { plain_number, plain_address, any };

  bool counts_from_end = false;
  bool is_referred_to = false;
  Way way = Way::any;
  Anchor anchor = Anchor::behind;
  Form form = Form::number;
  std::ptrdiff_t at = 0;   ///< of anchors front and end (negative)
  std::size_t octets = 0;  ///< of one value; 0: to the end, or to a 00
  std::size_t stride = 0;
  NumberShape shape;
  std::size_t when = kNoField;        ///< the field that says whether it is there
  std::size_t counted_by = kNoField;  ///< the field that says how often it comes
  std::size_t fixed_count = 1;
};

struct BinaryLayout {
  explicit BinaryLayout(const fleet::FrameFacts& facts);

  const fleet::FrameFacts* frame;
  std::vector<BinaryField> fields;
  std::size_t front = 0;  ///< octets before the first field
  std::size_t back = 0;   ///< octets behind the group in front
};

/// What other fields refer to: whether a field is there, and its raw value.
struct Reference {
  bool is_there = false;
  std::int64_t raw = 0;  ///< two's complement of the bits, in 64
};

/// True where a field with a condition is there.
bool is_due(const BinaryField& field, const std::vector<Reference>& references);

/// How often a field comes; nothing for a count below 0 or beyond the bounds.
std::optional<std::size_t> count_of(const BinaryField& field,
                                    const std::vector<Reference>& references);

}  // namespace fieldfare::wire
