// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "fieldfare/fleet/site.h"

namespace fieldfare::site {

/// A site that begins with what was found at a desk, as site.toml: its name, zone,
/// network, receivers with their sources, and nodes with address, label and sheet. What
/// else a Site can hold is left for people to write. Reading it with its sheets gives
/// the same again. `notes`: a comment above each node, by index; may be shorter.
std::string begun_site_text(const fleet::Site& site, const std::vector<std::string>& notes);

}  // namespace fieldfare::site
