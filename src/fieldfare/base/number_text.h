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

}  // namespace fieldfare
