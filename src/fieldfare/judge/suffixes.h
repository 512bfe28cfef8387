// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "fieldfare/judge/first_day.h"

namespace fieldfare::judge {

/// A whole label may be longer than the address that frames carry (a short address,
/// or one whose first digits are the maker's and never sent). The address then has to
/// be this long to say anything.
inline constexpr std::size_t kFewestWholeDigits = 4;

/// Finds nodes by the ending of their addresses in time that hardly grows with them.
class Suffixes {
 public:
  explicit Suffixes(std::span<const FirstNode> nodes);

  /// Indices, rising.
  std::vector<std::size_t> ending_in(std::string_view digits) const;

 private:
  using Entry = std::pair<std::string, std::size_t>;
  using Entries = std::vector<Entry>;

  Entries::const_iterator first_from(const std::string& text) const;

  Entries backwards_;  ///< addresses backwards, in upper case, sorted
};

}  // namespace fieldfare::judge
