// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "fieldfare/render/internal/screen_lines.h"
#include "fieldfare/work/desk.h"

namespace fieldfare::render::internal {

/// Everything about one node of a desk.
ScreenLines node_page(const work::DeskRow& row, const work::DeskView& view, const TextStyle& style);

/// What the keys do, and what the list's marks mean.
ScreenLines help_page(const work::DeskView& view, const TextStyle& style);

}  // namespace fieldfare::render::internal
