// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

namespace fieldfare::site {

/// A text of any origin and length as comment lines of TOML, broken at blanks.
std::string toml_comment(std::string_view text);

}  // namespace fieldfare::site
