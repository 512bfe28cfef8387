// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

#include "fieldfare/base/result.h"
#include "fieldfare/calc/calculator.h"

namespace fieldfare::calc {

/// Reads the text of a key by its kind and bounds. Octets and addresses become
/// text again, upper-case and without separators. The error is a sentence.
Result<Value, std::string> read_value(const Key& key, std::string_view text);

}  // namespace fieldfare::calc
