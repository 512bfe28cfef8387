// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/render/words.h"

namespace fieldfare::render::internal {

enum class Look : std::uint8_t { plain, bold, dim, accent };

struct ScreenLine {
  std::string text;
  Look look = Look::plain;
};

/// Lines of a screen under construction.
class ScreenLines {
 public:
  explicit ScreenLines(const TextStyle& style) : style_{style} {}

  void line(std::string text, Look look = Look::plain);
  /// Wrapped; lines after the first are set in by `indent`. What needs more than
  /// `most` lines is cut, with a mark.
  void wrapped(std::string_view text, std::size_t indent, std::size_t most,
               Look look = Look::plain);
  /// What to do about the line above: wrapped behind an arrow.
  void remedy(std::string_view text, std::size_t indent, std::size_t most, Look look = Look::plain);
  /// `name      text`, the text wrapped beside the name.
  void entry(std::string_view name, std::string_view text);
  void append(const ScreenLines& others);
  /// Keeps the first `most` lines.
  void cut(std::size_t most);
  /// Keeps the last `most` lines.
  void cut_front(std::size_t most);
  /// Shows `rows` of the lines, from `first` on as far as there are so many; where
  /// some are left out, the last line says how many.
  void window(std::size_t first, std::size_t rows);

  std::string safe(std::string_view text) const { return safe_text(text, style_.unicode); }
  std::size_t size() const { return lines_.size(); }
  const TextStyle& style() const { return style_; }
  /// None wider than the style's width; emphasis as the style wants it.
  std::vector<std::string> finish() const;

 private:
  TextStyle style_;
  std::vector<ScreenLine> lines_;
};

}  // namespace fieldfare::render::internal
