// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>

#include "fieldfare/app/site_folder.h"
#include "fieldfare/cli/verbs.h"
#include "fieldfare/render/answers.h"

namespace fieldfare::cli {
namespace {

std::string text_of(const app::SiteCheck& check) {
  std::string text;
  for (const Complaint& error : check.errors) text += render::safe_text(error.text(), true) + '\n';
  for (const Complaint& warning : check.warnings) {
    text += render::safe_text(warning.text(), true) + " (allowed)\n";
  }
  if (check.valid) {
    text += fmt::format("{} is a valid site\n", render::safe_text(check.name, true));
  } else {
    text += fmt::format("not a valid site: {}\n",
                        render::counted(check.errors.size(), "mistake", "mistakes"));
  }
  return text;
}

}  // namespace

Exit run(const CheckCommand& command) {
  const auto check = app::check_site(command.folder);
  if (!check) return print(check.error());
  const std::string answer =
      command.json ? render::check_json({check->valid, check->name, check->errors, check->warnings})
                   : text_of(*check);
  return print(answer, check->valid ? Exit::yes : Exit::no);
}

}  // namespace fieldfare::cli
