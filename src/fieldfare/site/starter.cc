// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/starter.h"

#include <string>

#include "fieldfare/site/internal/embedded.h"
#include "fieldfare/site/internal/frame_writer.h"
#include "fieldfare/site/names.h"

namespace fieldfare::site {
namespace {

constexpr std::string_view kNamePlace = "\"@NAME@\"";

std::vector<NamedText> copies(std::span<const EmbeddedFile> files) {
  std::vector<NamedText> texts;
  for (const EmbeddedFile& file : files) {
    texts.push_back({std::string{file.name}, std::string{file.text}});
  }
  return texts;
}

}  // namespace

std::vector<NamedText> starter_files(std::string_view name) {
  auto files = copies(embedded_starter());
  for (NamedText& file : files) {
    if (const auto at = file.text.find(kNamePlace); at != std::string::npos) {
      file.text.replace(at, kNamePlace.size(), toml_text(fitting_name(name, "my site")));
    }
  }
  return files;
}

std::vector<NamedText> demo_files() { return copies(embedded_demo()); }

}  // namespace fieldfare::site
