// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "fieldfare/wire/ledger.h"

namespace fieldfare::render {

/// What one run read: it says how the answer came about and is no part of it.
/// Judging the same hearings in pieces gives other run facts and the same rest.
struct RunFacts {
  static constexpr std::size_t kMostQuoted = 100;

  std::uint64_t rows_read = 0;  ///< every data row, skipped ones and ones outside included
  std::uint64_t rows_skipped = 0;
  std::uint64_t rows_outside = 0;         ///< readable, but not within the time asked for
  std::vector<wire::SkippedRow> skipped;  ///< the first kMostQuoted
  wire::Ledger::Counts skipped_by_reason;
  std::vector<std::string> notes;  ///< what else a person should know of this run
};

}  // namespace fieldfare::render
