// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

#include "fieldfare/fleet/frame.h"

// The words that sheets have for what frames can be (docs/formats/sheet.md).
namespace fieldfare::site {

std::string_view framing_word(fleet::Framing framing);
std::string_view body_word(fleet::Body body);
std::string_view role_word(fleet::FieldRole role);
std::string_view coding_word(fleet::TextCoding coding);
std::string_view complement_word(fleet::Complement complement);
std::string_view order_word(fleet::ByteOrder order);

/// `u8`, `i16be`, `bytes8le`, `text` and so on.
std::string type_word(const fleet::BinaryForm& form);

/// A CRC by its catalogue name, `sum-8`, `sum-16` or `xor-8`.
std::string check_name(const fleet::CheckFacts& check);

}  // namespace fieldfare::site
