// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/starter.h"

#include <string>

#include "fieldfare/site/internal/embedded.h"
#include "fieldfare/site/internal/tree.h"
#include "fieldfare/site/internal/values.h"

namespace fieldfare::site {
namespace {

constexpr std::string_view kNamePlace = "@NAME@";

/// The inside of a TOML basic string that reads as a name.
std::string name_in_quotes(std::string_view name) {
  std::string clean;
  for (const char c : name) {
    if (static_cast<unsigned char>(c) >= 0x20 && c != 0x7F) clean += c;
  }
  const std::size_t from = clean.find_first_not_of(' ');
  const std::size_t to = clean.find_last_not_of(' ');
  clean = from == std::string::npos ? "" : clean.substr(from, to - from + 1);
  std::string text;
  for (const char c : clean) {
    if (c == '"' || c == '\\') text += '\\';
    text += c;
  }
  // What is not UTF-8 shows here.
  const bool reads_back = parse_tree("name = \"" + text + '"', "").has_value();
  return is_name(clean) && reads_back ? text : "my site";
}

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
      file.text.replace(at, kNamePlace.size(), name_in_quotes(name));
    }
  }
  return files;
}

std::vector<NamedText> demo_files() { return copies(embedded_demo()); }

}  // namespace fieldfare::site
