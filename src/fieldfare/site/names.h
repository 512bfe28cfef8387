// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

namespace fieldfare::site {

/// `text` as a name of a site's files (docs/formats/site.md, "Values"): without
/// characters of control, and without blanks at its ends. What then is no name (none
/// left, too long, not UTF-8) becomes `otherwise`.
std::string fitting_name(std::string_view text, std::string_view otherwise);

}  // namespace fieldfare::site
