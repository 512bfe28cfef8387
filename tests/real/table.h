// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

namespace fieldfare::real {

/// What another program counted of one node in one log; see SOURCE.md.
struct KnownAnswer {
  std::string set;
  std::string file;
  std::string node;
  std::int64_t hearings = 0;
  std::int64_t heard = 0;  ///< different reports
  std::int64_t expected = 0;
  std::int64_t missed = 0;
  std::int64_t resets = 0;  ///< of all kinds
  std::int64_t strays = 0;
  std::int64_t duplicates = 0;
  std::int64_t further_hearings = 0;
  double longest_gap_s = 0;
  double interval_s = 0;  ///< median; times of whole seconds make it whole
};

/// Reads known_answers.csv. Throws where it is not as SOURCE.md says.
std::vector<KnownAnswer> known_answers(const std::filesystem::path& path);

}  // namespace fieldfare::real
