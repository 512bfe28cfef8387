// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "fieldfare/wire/body_codec.h"
#include "fieldfare/wire/internal/binary_layout.h"
#include "fieldfare/wire/internal/report_filler.h"

namespace fieldfare::wire {

/// Reads frames of one layout. The layout must outlive it.
class BinaryDecoder {
 public:
  explicit BinaryDecoder(const BinaryLayout& layout)
      : layout_{layout}, references_(layout.fields.size()) {}

  std::optional<BodyError> decode(std::span<const std::uint8_t> frame, ReportSink& sink);

 private:
  bool take_plain(const BinaryField& field);
  bool take(const BinaryField& field);
  bool take_value(const BinaryField& field, std::uint16_t repetition, std::size_t at);
  bool take_number(const BinaryField& field, std::uint16_t repetition, std::size_t at);
  bool take_octets(const BinaryField& field, std::size_t at, std::size_t end);
  bool take_text(const BinaryField& field, std::uint16_t repetition, std::size_t at,
                 std::size_t end);
  bool lies_outside(const BinaryField& field, std::size_t at);
  bool fail(BodyFault fault, const BinaryField& field, std::size_t at);
  void move_to(const BinaryField& field, std::size_t end);

  /// Where the field begins; far outside where that is before the frame.
  std::size_t place_of(const BinaryField& field) const {
    if (field.anchor == BinaryField::Anchor::behind) return cursor_;
    if (field.anchor == BinaryField::Anchor::front) return static_cast<std::size_t>(field.at);
    const auto before_end = static_cast<std::size_t>(-field.at);
    return before_end <= frame_.size() ? frame_.size() - before_end : kOutside;
  }
  std::size_t limit_of(const BinaryField& field) const {
    return field.counts_from_end ? frame_.size() : front_end_;
  }

  /// Behind every frame, and far enough from overflowing.
  static constexpr std::size_t kOutside = static_cast<std::size_t>(1) << 40;

  const BinaryLayout& layout_;
  ReportFiller filler_;
  std::vector<Reference> references_;
  std::span<const std::uint8_t> frame_;
  std::size_t front_end_ = 0;  ///< where the group in front must end
  std::size_t cursor_ = 0;     ///< behind the last field
  std::size_t reached_ = 0;    ///< the furthest end of a field of the group in front
  BodyError error_;
};

}  // namespace fieldfare::wire
