// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string>

namespace fieldfare {

/// A place in something a person wrote or recorded. Line and column count from
/// 1; 0 means that the complaint is about the whole file.
struct Place {
  std::string file;
  std::size_t line = 0;
  std::size_t column = 0;
};

/// Why input could not be taken, where, and what was expected instead.
struct Complaint {
  Place place;
  std::string what;
  std::string expected;  ///< the remedy; empty where there is none to offer

  /// `file:line:column: what; expected` with the parts that are known.
  std::string text() const;
};

}  // namespace fieldfare
