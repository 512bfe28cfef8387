// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <unordered_set>

#include "fieldfare/store/internal/row.h"

namespace fieldfare::store {

/// Stretch n holds the arrivals from n * kStretchRows + 1 to (n + 1) * kStretchRows.
/// Long enough that what a row of the table costs disappears, short enough that
/// the newest hearings are soon packed too. The schema's triggers know it.
inline constexpr std::int64_t kStretchRows = 4096;

/// Packs the hearings of one stretch for reading: by node, each node's in the
/// order of their arrival. Layout: docs/formats/store.md.
std::string pack_stretch(std::span<const Row> rows);

/// Reads a packed stretch, row by row.
///
///     StretchReader reader{packed, nullptr};
///     while (reader.next(row)) use(row);
///     if (reader.damaged()) ...
///
/// Never reads outside `packed`, whatever the bytes are.
class StretchReader {
 public:
  /// `only`: ids of the nodes that are wanted, all where null. What is given must
  /// outlive the reader.
  StretchReader(std::string_view packed, const std::unordered_set<std::uint32_t>* only);

  /// False after the last row, and where the bytes make no sense.
  bool next(Row& row);
  bool damaged() const { return damaged_; }

 private:
  bool next_group();
  bool stop(bool damaged);
  std::uint64_t take_varint();
  std::int64_t take_signed();
  double take_measure(unsigned form);

  const unsigned char* at_;
  const unsigned char* end_;
  const std::unordered_set<std::uint32_t>* only_;
  std::uint64_t left_in_group_ = 0;
  bool damaged_ = false;
  std::uint32_t node_ = 0;
  std::int64_t arrival_ = 0;
  std::int64_t time_ns_ = 0;
  std::uint64_t sequence_ = 0;
};

}  // namespace fieldfare::store
