// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

#include "fieldfare/learn/learn.h"
#include "fieldfare/render/words.h"

namespace fieldfare::render {

/// Schema `fieldfare/learn/1`, docs/schema/learn.schema.json. `sheet` is the text
/// of the sheet; empty: none could be written.
std::string learn_json(const learn::Learnt& learnt, std::string_view sheet);

/// What was learnt, for people: certain, guessed, what would decide, and the hex of
/// one frame with its fields marked.
std::string learn_text(const learn::Learnt& learnt, const TextStyle& style);

/// The sheet, commented: what is certain, what is guessed and how surely, what
/// would decide, and one frame in hex with its fields marked. Loads as it is
/// (docs/formats/sheet.md) and describes the same frame. Precondition: there is one.
std::string learnt_sheet(const learn::Learnt& learnt, std::string_view name);

}  // namespace fieldfare::render
