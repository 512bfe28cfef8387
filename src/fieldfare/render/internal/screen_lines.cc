// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/internal/screen_lines.h"

#include <fmt/core.h>

#include <algorithm>
#include <utility>

namespace fieldfare::render::internal {
namespace {

std::string_view escape_of(Look look) {
  switch (look) {
    case Look::bold:
      return "\x1b[1m";
    case Look::dim:
      return "\x1b[2m";
    case Look::accent:
      return "\x1b[1;35m";
    case Look::plain:
      break;
  }
  return {};
}

std::vector<std::string> divided(const std::string& text) {
  std::vector<std::string> lines;
  std::size_t from = 0;
  while (from <= text.size()) {
    const std::size_t to = std::min(text.find('\n', from), text.size());
    lines.push_back(text.substr(from, to - from));
    from = to + 1;
  }
  return lines;
}

}  // namespace

void ScreenLines::line(std::string text, Look look) { lines_.push_back({std::move(text), look}); }

void ScreenLines::wrapped(std::string_view text, std::size_t indent, std::size_t most, Look look) {
  std::vector<std::string> lines = divided(wrap(text, style_.width, indent));
  if (lines.size() > most && most > 0) {
    // One column too many makes finish() cut it with its mark.
    std::string& last = lines[most - 1];
    last = fit(last, style_.width, style_.unicode) + ' ';
    last += lines[most].substr(std::min(indent, lines[most].size()));
    lines.resize(most);
  }
  for (std::string& each : lines) line(std::move(each), look);
}

void ScreenLines::remedy(std::string_view text, std::size_t indent, std::size_t most, Look look) {
  const std::string_view arrow = style_.unicode ? "→ " : "-> ";
  wrapped(fmt::format("{}{}{}", std::string(indent, ' '), arrow, text), indent + columns(arrow),
          most, look);
}

void ScreenLines::entry(std::string_view name, std::string_view text) {
  constexpr std::size_t kNameWidth = 10;
  constexpr std::size_t kMostLines = 12;
  wrapped(fmt::format("  {} {}", fit(name, kNameWidth, style_.unicode), text), kNameWidth + 3,
          kMostLines);
}

void ScreenLines::append(const ScreenLines& others) {
  lines_.insert(lines_.end(), others.lines_.begin(), others.lines_.end());
}

void ScreenLines::cut(std::size_t most) {
  if (lines_.size() > most) lines_.resize(most);
}

void ScreenLines::cut_front(std::size_t most) {
  if (lines_.size() <= most) return;
  lines_.erase(lines_.begin(), lines_.end() - static_cast<std::ptrdiff_t>(most));
}

void ScreenLines::window(std::size_t first, std::size_t rows) {
  if (lines_.size() <= rows || rows == 0) return cut(rows);
  first = std::min(first, lines_.size() - rows + (rows > 1 ? 1 : 0));
  const std::size_t shown = std::min(lines_.size() - first, rows > 1 ? rows - 1 : rows);
  const std::size_t below = lines_.size() - first - shown;
  std::vector<ScreenLine> kept(lines_.begin() + static_cast<std::ptrdiff_t>(first),
                               lines_.begin() + static_cast<std::ptrdiff_t>(first + shown));
  lines_ = std::move(kept);
  if (rows == 1) return;
  std::string rest;
  if (first > 0) rest = fmt::format("{} above", count_words(first));
  if (below > 0) rest += fmt::format("{}{} below", rest.empty() ? "" : ", ", count_words(below));
  line(fmt::format("   {}: page up, page down", rest), Look::dim);
}

std::vector<std::string> ScreenLines::finish() const {
  std::vector<std::string> texts;
  for (const ScreenLine& each : lines_) {
    std::string text = each.text.substr(0, each.text.find_last_not_of(' ') + 1);
    if (columns(text) > style_.width) text = fit(text, style_.width, style_.unicode);
    if (style_.emphasis && each.look != Look::plain && !text.empty()) {
      text = fmt::format("{}{}\x1b[0m", escape_of(each.look), text);
    }
    texts.push_back(std::move(text));
  }
  return texts;
}

}  // namespace fieldfare::render::internal
