// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <vector>

#include "fieldfare/render/words.h"
#include "fieldfare/work/desk.h"

namespace fieldfare::render::internal {

/// The rows of a desk as lines in columns. Columns are as wide as the rows ask for;
/// where that is too wide, names are cut first, and then columns left out, in the
/// order in which they can be done without.
class DeskTable {
 public:
  DeskTable(const work::DeskView& view, const TextStyle& style);

  std::string head() const;
  /// `mark`: one character in front, what the hand has to do with the row.
  std::string line(const work::DeskRow& row, char mark) const;

 private:
  enum Column : std::size_t {
    kLabel,
    kAddress,
    kName,
    kHeadline,
    kAge,
    kBeat,
    kOffset,
    kCounter,
    kLevel,
    kReadings,
    kColumns
  };
  using Cells = std::array<std::string, kColumns>;

  Cells cells_of(const work::DeskRow& row) const;
  void measure(const work::DeskView& view);
  std::size_t width() const;
  std::string put_together(std::string front, const Cells& cells) const;

  TextStyle style_;
  Instant now_;
  std::size_t tail_;
  std::size_t readings_shown_ = 2;
  std::array<std::size_t, kColumns> caps_;
  std::array<std::size_t, kColumns> widths_{};  ///< 0: left out
};

}  // namespace fieldfare::render::internal
