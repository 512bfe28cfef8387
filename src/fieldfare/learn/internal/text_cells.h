// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <span>
#include <string_view>
#include <vector>

#include "fieldfare/learn/internal/text_lines.h"

// Lines taken apart into columns, and columns into words and values.
namespace fieldfare::learn {

/// What a column looks like.
enum class CellKind : std::uint8_t {
  empty,
  value,   ///< a number, a time, hex digits, NaN
  token,   ///< one word
  keyed,   ///< `T=21.5`
  worded,  ///< `tx time 404 ms`: words, a number or hex digits, a unit
  phrase,  ///< several words, no value
  junk,    ///< numbers with other things behind them
};

struct TextCell {
  CellKind kind = CellKind::empty;
  std::string_view all;    ///< the column, without blanks around it
  std::string_view name;   ///< of keyed and worded: what stands in front
  std::string_view value;  ///< of value, token, keyed and worded
  std::string_view unit;   ///< of worded: letters right behind the number
};

struct LineStyle {
  char separator = ',';
  char assignment = '=';
  char decimal = '.';
};

std::vector<TextCell> cells_of(std::string_view line, const LineStyle& style);

/// The style under which most columns of the lines are something.
LineStyle style_of(std::span<const TextLine> lines);

/// Digits, with or without decimals and exponent; all of the text.
bool is_number(std::string_view text, char decimal);

}  // namespace fieldfare::learn
