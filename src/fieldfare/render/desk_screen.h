// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "fieldfare/render/words.h"
#include "fieldfare/work/desk.h"
#include "fieldfare/work/hand.h"

namespace fieldfare::render {

struct ScreenSize {
  std::size_t columns = 80;
  std::size_t rows = 24;
};

/// The live list of a desk as the lines of a screen: at most `size.rows`, none
/// wider than `size.columns`. It can be read without colour and, where the style
/// says so, in ASCII. Text of unknown origin is made safe.
std::vector<std::string> desk_screen(const work::DeskView& view, const work::HandState& hand,
                                     ScreenSize size, const TextStyle& style);

/// The same for where there is no terminal: what happened, line by line.
/// `newest`: the report of a row that came in, or a verdict that changed.
std::string desk_line(const work::DeskRow& row, Instant now, const TextStyle& style);

/// Schema `fieldfare/desk/1`, docs/schema/desk.schema.json: the whole view at the end.
std::string desk_json(const work::DeskView& view);
/// The whole view at the end, as text without a screen.
std::string desk_text(const work::DeskView& view, const TextStyle& style);

}  // namespace fieldfare::render
