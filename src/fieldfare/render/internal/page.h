// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>

#include "fieldfare/render/words.h"

namespace fieldfare::render::internal {

/// Text for people under construction: headings, wrapped sentences, lines.
class Page {
 public:
  explicit Page(const TextStyle& style) : style_{style} {}

  /// A section begins; one that stays without lines isn't shown.
  void heading(std::string_view text);
  /// A sentence, wrapped, later lines indented.
  void sentence(std::string_view text);
  /// A sentence as one of several, set in.
  void item(std::string_view text);
  /// `name  text` with the text wrapped beside a name column of `width`.
  void entry(std::string_view name, std::string_view text, std::size_t width);
  /// A line as it is.
  void line(std::string_view text);

  const TextStyle& style() const { return style_; }
  std::string safe(std::string_view text) const { return safe_text(text, style_.unicode); }
  std::string bold(std::string_view text) const { return emphasized(text, "1"); }
  std::string dim(std::string_view text) const { return emphasized(text, "2"); }
  std::string accent(std::string_view text) const { return emphasized(text, "1;35"); }

  std::string finish() { return std::move(out_); }

 private:
  std::string emphasized(std::string_view text, std::string_view code) const;
  void begin_line();

  TextStyle style_;
  std::string pending_heading_;
  std::string out_;
};

}  // namespace fieldfare::render::internal
