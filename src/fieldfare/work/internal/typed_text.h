// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "fieldfare/work/desk.h"

// What somebody types, letter by letter and as a whole.
namespace fieldfare::work::internal {

/// Characters of a text in UTF-8.
std::size_t characters_in(std::string_view text);
void append_utf8(std::string& text, char32_t c);

/// Whether it may stand in a text that somebody types.
bool is_text(char32_t c);

/// Upper case, or nothing.
std::optional<char> hex_digit(char32_t c);
bool is_hex(std::string_view text);

/// Signs between the digits of a label as it is printed.
bool is_separator(char32_t c);

/// Without blanks at either end.
std::string trimmed(std::string_view text);

/// What an instrument says.
struct TypedValue {
  std::string field;
  double value = 0;
  double tolerance = 0;  ///< half of the last digit that was typed
};

/// `temperature_c 21.4`, also with `=` or `:` between, a decimal comma, or, where
/// the node has one reading alone, without the field.
std::optional<TypedValue> value_in(std::string_view typed, const DeskRow& row);

}  // namespace fieldfare::work::internal
