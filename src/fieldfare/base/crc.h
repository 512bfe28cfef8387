// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>

namespace fieldfare {

/// A cyclic redundancy check in the parameters of the usual catalogue: register
/// width in bits (8 to 64), generator polynomial without its highest term, start
/// value, whether octets go in and the result comes out with the least
/// significant bit first, and what is xored on at the end.
///
/// `check` is the published CRC of the nine ASCII digits 123456789.
struct CrcModel {
  std::string_view name;
  unsigned width;
  std::uint64_t polynomial;
  std::uint64_t start;
  bool reflect_in;
  bool reflect_out;
  std::uint64_t final_xor;
  std::uint64_t check;
};

/// All that are known here, by width and name.
std::span<const CrcModel> crc_models();

/// The model of a catalogue name, capitals or not: `crc-16/ibm-sdlc`. Null where
/// it isn't known.
const CrcModel* find_crc_model(std::string_view name);

/// Computes CRCs of one model, eight octets at a time, by eight tables of 256
/// entries ("slicing by 8").
/// Source: M. E. Kounavis & F. L. Berry, ISCC 2005 (from memory).
class Crc {
 public:
  explicit Crc(const CrcModel& model);

  std::uint64_t of(std::span<const std::uint8_t> octets) const;

 private:
  std::uint64_t through_reflected(std::span<const std::uint8_t> octets) const;
  std::uint64_t through_plain(std::span<const std::uint8_t> octets) const;

  CrcModel model_;
  std::uint64_t start_;  ///< as the register holds it
  /// tables_[n]: what an octet does to the register when n octets follow it.
  std::array<std::array<std::uint64_t, 256>, 8> tables_{};
};

}  // namespace fieldfare
