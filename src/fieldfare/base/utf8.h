// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string_view>

namespace fieldfare {

/// Bytes in the well-formed UTF-8 character at the front of `bytes`, or 0 where
/// there is none. Source: RFC 3629 section 4 (no overlong forms, no surrogates).
std::size_t utf8_character_size(std::string_view bytes);

/// Bytes before the first that is not part of well-formed UTF-8.
std::size_t well_formed_size(std::string_view bytes);

/// Whether the well-formed `character` is one of control: C0, DEL or C1.
bool is_control(std::string_view character);

}  // namespace fieldfare
