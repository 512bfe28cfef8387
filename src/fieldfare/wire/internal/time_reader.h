// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>

#include "fieldfare/base/instant.h"

namespace fieldfare::wire {

/// parse_rfc3339() for many times in a row: the same answers, faster, since
/// the rows of a log mostly share their date. Only UTC written with `T`, `Z`
/// and at most nine decimals goes the fast way.
class TimeReader {
 public:
  std::optional<Instant> read(std::string_view text);

 private:
  static constexpr std::size_t kDateSize = 10;

  std::optional<Instant> read_slowly(std::string_view text);

  std::array<char, kDateSize> date_{};  ///< the last date seen, `2026-03-02`
  std::int64_t midnight_ns_ = 0;        ///< its beginning
  bool has_date_ = false;
};

/// The moments that the clock of a receiver can be trusted to mean: not before
/// 2000-01-01T00:00:00Z, as clocks that were never set count from 1970 or 1980,
/// and before 2038-01-19T03:14:07Z, where signed 32-bit seconds end and clocks
/// that overflowed or hold all ones come to lie.
bool is_believed(Instant time);

}  // namespace fieldfare::wire
