// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <string_view>

namespace fieldfare::site {

/// A file of the repository, put into the program when it is built (see
/// cmake/embed.cmake), so that the program needs nothing beside itself.
struct EmbeddedFile {
  std::string_view name;  ///< within its folder
  std::string_view text;
};

std::span<const EmbeddedFile> embedded_sheets();   ///< `sheets/`
std::span<const EmbeddedFile> embedded_demo();     ///< `examples/tarn-dairy/`
std::span<const EmbeddedFile> embedded_starter();  ///< `src/fieldfare/site/starter/`

}  // namespace fieldfare::site
