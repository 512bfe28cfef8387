// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/internal/page.h"

#include <fmt/core.h>

#include <algorithm>

namespace fieldfare::render::internal {

void Page::begin_line() {
  if (pending_heading_.empty()) return;
  if (!out_.empty()) out_ += '\n';
  out_ += bold(pending_heading_);
  out_ += '\n';
  pending_heading_.clear();
}

void Page::heading(std::string_view text) { pending_heading_ = text; }

void Page::line(std::string_view text) {
  begin_line();
  while (text.ends_with(' ')) text.remove_suffix(1);
  out_ += text;
  out_ += '\n';
}

void Page::sentence(std::string_view text) { line(wrap(text, style_.width, 2)); }

void Page::item(std::string_view text) { line("  " + wrap(text, style_.width - 2, 4)); }

void Page::entry(std::string_view name, std::string_view text, std::size_t width) {
  // Too little room beside the name: the text goes below it.
  if (width + 24 > style_.width || columns(name) > width) {
    line(fmt::format("  {}", name));
    line(fmt::format("    {}", wrap(text, std::max<std::size_t>(style_.width, 8) - 4, 4)));
    return;
  }
  const std::size_t indent = width + 4;
  std::string wrapped = wrap(text, style_.width - indent, 0);
  for (std::size_t at = wrapped.find('\n'); at != std::string::npos;
       at = wrapped.find('\n', at + 1)) {
    wrapped.insert(at + 1, indent, ' ');
  }
  line(fmt::format("  {}  {}", fit(name, width, style_.unicode), wrapped));
}

std::string Page::emphasized(std::string_view text, std::string_view code) const {
  if (!style_.emphasis) return std::string{text};
  return fmt::format("\x1b[{}m{}\x1b[0m", code, text);
}

}  // namespace fieldfare::render::internal
