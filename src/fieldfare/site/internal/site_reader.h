// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

#include "fieldfare/fleet/site.h"
#include "fieldfare/site/internal/check.h"
#include "fieldfare/site/internal/sheet_reader.h"

namespace fieldfare::site {

/// Reads the text of site.toml; `place` is where complaints say it is. Sheets
/// are taken from the shelf, which moves into the site.
fleet::Site read_site(std::string_view text, const std::string& place, SheetShelf shelf,
                      Complaints& complaints);

}  // namespace fieldfare::site
