// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string_view>
#include <vector>

#include "fieldfare/site/load.h"

namespace fieldfare::site {

/// The files of a new site called `name`: a site.toml that loads as it is, with
/// comments that show what to write next, and a sheet to fill in. Characters of
/// control in the name are left out; what then is no name (none left, more than 64,
/// not UTF-8) becomes "my site".
std::vector<NamedText> starter_files(std::string_view name);

/// The files of the demonstration site, Tarn Dairy, which is invented: site.toml,
/// sheets, README and a recorded log (gzip). The same as `examples/tarn-dairy/`.
std::vector<NamedText> demo_files();

}  // namespace fieldfare::site
