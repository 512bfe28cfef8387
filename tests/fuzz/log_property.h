// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>
#include <vector>

#include "fieldfare/fleet/labels.h"
#include "fieldfare/wire/ledger.h"
#include "fieldfare/wire/log_parser.h"

namespace fieldfare::fuzz {

/// What a log came to, as far as two readings of it are compared.
struct LogSums {
  std::uint64_t hearings = 0;
  std::uint64_t readings = 0;
  std::uint64_t time_sum = 0;  ///< modulo 2^64
  std::uint64_t accepted = 0;
  wire::Ledger::Counts skipped;

  bool operator==(const LogSums&) const = default;
};

/// Reads `log` in pieces of `piece` bytes. Each piece is a copy of its own size,
/// so that the sanitizer sees a look past its end.
inline LogSums read_log(std::string_view log, wire::LogFormat format, std::size_t piece) {
  LogSums sums;
  fleet::Labels labels;
  wire::Ledger ledger;
  wire::LogParser parser{{"fuzz.log", format}, labels, ledger};
  const auto sink = [&](const fleet::Hearing& hearing) {
    ++sums.hearings;
    sums.readings += hearing.readings.size();
    sums.time_sum += static_cast<std::uint64_t>(hearing.time.ns);
  };
  for (std::size_t from = 0; from < log.size(); from += piece) {
    const std::string_view part = log.substr(from, piece);
    const std::vector<char> copy(part.begin(), part.end());
    parser.feed({copy.data(), copy.size()}, sink);
  }
  parser.finish(sink);
  sums.accepted = ledger.rows_accepted();
  sums.skipped = ledger.skipped_by_reason();
  return sums;
}

/// Ends the program where the ledger does not balance, or where the log read in
/// pieces is another than the log read in one go. The first byte is the size of
/// a piece.
inline int check_log(const std::uint8_t* data, std::size_t size, wire::LogFormat format) {
  if (size == 0) return 0;
  const std::string_view log{reinterpret_cast<const char*>(data) + 1, size - 1};
  const LogSums whole = read_log(log, format, log.size() + 1);
  if (whole.accepted != whole.hearings) std::abort();
  if (!(whole == read_log(log, format, data[0] % 64 + 1U))) std::abort();
  return 0;
}

}  // namespace fieldfare::fuzz
