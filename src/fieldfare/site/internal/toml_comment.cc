// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/site/internal/toml_comment.h"

#include <algorithm>

#include "fieldfare/base/utf8.h"

namespace fieldfare::site {
namespace {

constexpr std::size_t kColumns = 88;

/// What TOML allows in a comment: no control but the tab, and well-formed UTF-8.
std::string printable(std::string_view text) {
  std::string clean;
  while (!text.empty()) {
    const std::size_t size = utf8_character_size(text);
    const std::string_view character = text.substr(0, std::max<std::size_t>(size, 1));
    const bool is_fit = size != 0 && (character == "\t" || !is_control(character));
    clean += is_fit ? character : "?";
    text.remove_prefix(character.size());
  }
  return clean;
}

/// One line of a person's text as comment lines, broken at blanks; what goes on is
/// set in as the line is. A word that is longer than a line stays whole.
std::string comment_line(std::string line) {
  constexpr std::size_t kRoom = kColumns - 2;
  const std::string indent(std::min(line.find_first_not_of(' '), line.size()), ' ');
  std::string out;
  while (line.size() > kRoom) {
    const std::size_t blank = line.rfind(' ', kRoom);
    if (blank == std::string::npos || blank < indent.size() + 1) break;
    out += "# " + line.substr(0, blank) + '\n';
    line = indent + line.substr(blank + 1);
  }
  return out + (line.empty() ? "#\n" : "# " + line + '\n');
}

}  // namespace

std::string toml_comment(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    out += comment_line(printable(text.substr(0, end)));
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return out;
}

}  // namespace fieldfare::site
