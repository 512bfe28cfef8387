// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>

#include "fieldfare/app/site_folder.h"
#include "fieldfare/cli/verbs.h"
#include "fieldfare/render/answers.h"

namespace fieldfare::cli {

Exit run(const NewCommand& command) {
  const auto files = app::new_site({command.folder, command.name, command.demo});
  if (!files) return print(files.error());
  if (command.json) return print(render::new_json(command.folder, *files), Exit::yes);
  std::string text = fmt::format("{} begins with\n", render::safe_text(command.folder, true));
  for (const std::string& file : *files) text += "  " + file + "\n";
  if (command.demo) text += "Tarn Dairy is an invented site, and all of its data is invented.\n";
  return print(text, Exit::yes);
}

}  // namespace fieldfare::cli
