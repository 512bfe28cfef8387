// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "generator.h"

namespace fieldfare::truth {

/// What is told to the judge beforehand, as on its command line without a site.
struct Facts {
  unsigned counter_bits = 16;
  std::optional<double> interval_s;  ///< nominal

  bool operator==(const Facts&) const = default;
};

struct Estimated {
  double value = 0;
  double low = 0;  ///< 95 %
  double high = 0;
};

enum class JudgedKind : std::uint8_t { reset, jump, stood_still };

struct JudgedRestart {
  std::int64_t at_ns = 0;  ///< first hearing afterwards
  JudgedKind kind = JudgedKind::reset;
};

struct JudgedChange {
  std::int64_t at_ns = 0;
  double from_s = 0;
  double to_s = 0;
};

/// What was judged of one node, in the words of `fieldfare judge --json`.
struct Judged {
  std::uint64_t reports = 0;
  std::uint64_t hearings = 0;
  std::uint64_t duplicates = 0;
  std::uint64_t expected = 0;
  std::uint64_t missed = 0;
  std::uint64_t strays = 0;
  std::vector<JudgedRestart> restarts;
  std::optional<Estimated> interval_s;
  std::optional<double> jitter_s;
  std::vector<JudgedChange> changes;
  std::optional<Estimated> delivery;
};

/// Judges the rows of one node in this process: the one place of these tests
/// that knows the program from inside. May be called from several threads.
Judged judge_log(std::span<const Row> rows, const Facts& facts);

}  // namespace fieldfare::truth
