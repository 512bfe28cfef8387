// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace fieldfare {

/// The shortest text that reads back to the same double: `0.1`, `1e-07`, `-3`.
std::string number_text(double value);

/// Reads a whole text as a finite decimal number: `-3`, `.5`, `6.02e23`. A
/// leading `+` is taken. Nothing for anything else, `inf`, `nan` and hex among it.
std::optional<double> parse_number(std::string_view text);

/// Half of the last digit of a number as it is written, which is how exact it is meant:
/// 0.05 of `21.4`, 0.5 of `48`, 5 of `1.2e2`.
double half_of_last_digit(std::string_view number);

}  // namespace fieldfare
