// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

namespace fieldfare::wire {

/// How a number may be written.
enum class NumberGrammar : std::uint8_t {
  decimal,  ///< `-87.5`, `+3`, `.5`, `5.`, `1e-3`: what loggers put into CSV
  json      ///< RFC 8259 section 6: no plus, no bare point, no leading zeros
};

/// Reads a finite decimal number, correctly rounded; the whole text must be the
/// number. Nothing for `nan`, `inf`, hex, blanks, and for values that double
/// cannot hold.
///
/// Up to 2^53 in the digits and 22 in the power of ten both are exact in double,
/// so that one multiplication or division rounds once and thus correctly
/// (W. D. Clinger, How to read floating point numbers accurately, PLDI 1990,
/// from memory); std::from_chars reads the rest.
std::optional<double> parse_number(std::string_view text, NumberGrammar grammar);

/// Reads an unsigned decimal number below 2^64; digits alone.
std::optional<std::uint64_t> parse_counter(std::string_view text);

}  // namespace fieldfare::wire
