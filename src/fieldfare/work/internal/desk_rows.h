// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/work/desk.h"

namespace fieldfare::work::internal {

/// What a label's row is called until something of it is heard.
std::string label_key(std::string_view digits);

/// What the rows of a desk are made of.
struct RowParts {
  const judge::FirstDay& day;
  const std::vector<std::uint64_t>& reports;  ///< by node
  const std::map<std::string, std::uint64_t, std::less<>>& came_up;
  const std::map<std::string, Spoken>& spoken;
};

std::vector<DeskRow> rows_of(const RowParts& parts, Instant now);

}  // namespace fieldfare::work::internal
