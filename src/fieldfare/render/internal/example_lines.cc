// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/internal/example_lines.h"

#include <fmt/format.h>

#include <algorithm>

namespace fieldfare::render::internal {
namespace {

constexpr std::size_t kMostShown = 512;
constexpr std::size_t kMargin = 7;  // "  480  "

/// How octets are shown: two hex digits and a blank each, or themselves.
struct Cells {
  bool are_text = false;
  std::size_t width() const { return are_text ? 1 : 3; }
  std::string shown(std::uint8_t octet) const {
    return are_text ? std::string(1, static_cast<char>(octet)) : fmt::format("{:02X} ", octet);
  }
};

bool is_text(const fleet::Octets& octets) {
  return std::all_of(octets.begin(), octets.end(),
                     [](std::uint8_t each) { return each >= 0x20 && each <= 0x7E; });
}

char letter(std::size_t mark) {
  constexpr std::size_t kLetters = 26;
  if (mark < kLetters) return static_cast<char>('a' + mark);
  return mark < 2 * kLetters ? static_cast<char>('A' + mark - kLetters) : '+';
}

/// The ruler below the octets from `from` to `to`: a letter where a field begins, and
/// dashes as far as it goes.
std::string ruler(std::span<const learn::Mark> marks, std::size_t from, std::size_t to,
                  const Cells& cells) {
  std::string line((to - from) * cells.width(), ' ');
  const std::size_t gap = cells.width() - (cells.are_text ? 0 : 1);
  for (std::size_t i = 0; i < marks.size(); ++i) {
    const std::size_t begin = std::max(marks[i].from, from);
    const std::size_t end = std::min(marks[i].to, to);
    if (begin >= end) continue;
    const std::size_t first = (begin - from) * cells.width();
    const std::size_t last = (end - 1 - from) * cells.width() + gap;
    for (std::size_t at = first; at < last; ++at) line[at] = '-';
    line[first] = letter(i);
  }
  return line;
}

std::string trimmed(std::string line) {
  line.erase(line.find_last_not_of(' ') + 1);
  return line;
}

std::string place_words(const learn::Mark& mark) {
  if (mark.to == mark.from + 1) return fmt::format("octet {}", mark.from);
  return fmt::format("octets {} {} {}", mark.from, mark.to == mark.from + 2 ? "and" : "to",
                     mark.to - 1);
}

}  // namespace

std::vector<std::string> example_lines(const fleet::Octets& octets,
                                       std::span<const learn::Mark> marks, std::size_t width) {
  const Cells cells{is_text(octets)};
  const std::size_t shown = std::min(octets.size(), kMostShown);
  const std::size_t room = (std::max<std::size_t>(width, 40) - kMargin) / cells.width();
  const std::size_t a_line = std::max<std::size_t>(room / 8 * 8, 8);
  std::vector<std::string> lines;
  for (std::size_t from = 0; from < shown; from += a_line) {
    const std::size_t to = std::min(from + a_line, shown);
    std::string line = fmt::format("{:>5}  ", from);
    for (std::size_t i = from; i < to; ++i) line += cells.shown(octets[i]);
    lines.push_back(trimmed(std::move(line)));
    const std::string marked = trimmed(std::string(kMargin, ' ') + ruler(marks, from, to, cells));
    if (!marked.empty()) lines.push_back(marked);
  }
  if (shown < octets.size()) {
    lines.push_back(fmt::format("       and {} octets more", octets.size() - shown));
  }
  for (std::size_t i = 0; i < marks.size(); ++i) {
    if (marks[i].from >= shown) continue;
    lines.push_back(
        fmt::format("{:>5}  {:<16} {}", letter(i), place_words(marks[i]), marks[i].what));
  }
  return lines;
}

}  // namespace fieldfare::render::internal
