// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string_view>
#include <vector>

#include "fieldfare/fleet/frame.h"

// A line of text, taken apart as a sheet says.
namespace fieldfare::wire {

/// Without the blanks and tabs around it.
std::string_view trimmed(std::string_view text);

/// True where the field is a number to us, so that what stands there must be one.
bool wants_number(const fleet::FieldLayout& field);

/// A line and its columns, blanks around them gone. A blank as separator stands for
/// any run of them, and none at the line's beginning and end count. Views point into
/// the line.
class TextLine {
 public:
  explicit TextLine(const fleet::FrameFacts& frame) : frame_{&frame} {}

  void split(std::string_view line);
  /// What stands at the place of a field; empty where nothing does.
  std::string_view value_of(const fleet::FieldLayout& field, std::size_t repetition) const;
  /// Where in the line a value stands that is not empty.
  std::size_t offset_of(std::string_view value) const {
    return value.empty() ? 0 : static_cast<std::size_t>(value.data() - line_.data());
  }

 private:
  void split_at_blanks(std::string_view line);
  std::string_view at(std::size_t column) const {
    return column < columns_.size() ? columns_[column] : std::string_view{};
  }
  std::string_view after_key(std::string_view key) const;
  std::string_view after_text(const fleet::FieldLayout& field, const fleet::AfterText& place) const;
  std::string_view token(std::string_view rest) const;

  const fleet::FrameFacts* frame_;
  std::string_view line_;
  std::vector<std::string_view> columns_;
};

/// How many characters a number takes at the beginning of a text: sign, digits, decimals
/// behind `decimal`, an exponent. 0 where there is none.
std::size_t number_size(std::string_view text, char decimal);

}  // namespace fieldfare::wire
