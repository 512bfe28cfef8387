// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/wire/body_codec.h"
#include "fieldfare/wire/internal/binary_layout.h"
#include "fieldfare/wire/internal/report_source.h"

namespace fieldfare::wire {

/// Writes one report as a frame of octets: the inverse of BinaryDecoder.
class BinaryEncoder {
 public:
  BinaryEncoder(const BinaryLayout& layout, const ReportValues& report)
      : layout_{layout},
        source_{report},
        plans_(layout.fields.size()),
        references_(layout.fields.size()) {}

  Result<fleet::Octets, BodyError> encode();

 private:
  /// What is to be done for a field.
  struct Plan {
    bool is_wanted = false;   ///< the report says something of it, or of fields that need it
    std::int64_t needed = 0;  ///< raw value that the fields need that refer to it
    std::size_t most = 0;     ///< repetitions that the layout has, 0: it isn't there
    std::size_t count = 0;    ///< repetitions that are written
    std::size_t at = 0;
  };

  void want();
  bool decide();
  void keep_what_stands_before();
  std::size_t lay_out_front(std::size_t reached_by_others);
  std::size_t lay_out_end(std::size_t size);
  std::size_t size_for(std::size_t front_end) const;
  bool write();
  bool write_value(const BinaryField& field, std::size_t repetition, std::size_t at);
  bool write_length();

  bool refuse(const BinaryField& field);
  bool is_given(const BinaryField& field, std::size_t repetition) const;
  RawNumber stand_in(const BinaryField& field) const;
  std::optional<std::uint64_t> bits_of(const BinaryField& field, std::size_t repetition) const;
  std::optional<std::uint64_t> address_bits(const BinaryField& field) const;
  std::optional<fleet::Octets> content(const BinaryField& field, std::size_t repetition) const;
  std::optional<fleet::Octets> octets_of(const BinaryField& field) const;
  std::optional<std::string> text_of(const BinaryField& field, std::size_t repetition) const;

  const BinaryLayout& layout_;
  ReportSource source_;
  std::vector<Plan> plans_;
  std::vector<Reference> references_;
  fleet::Octets frame_;
  BodyError error_{BodyFault::does_not_fit, 0, std::nullopt};
};

}  // namespace fieldfare::wire
