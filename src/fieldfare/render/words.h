// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "fieldfare/base/instant.h"

namespace fieldfare::render {

/// What the terminal, or the file in its place, can show.
struct TextStyle {
  std::size_t width = 80;  ///< columns, at least 20
  bool unicode = true;     ///< false: ASCII alone
  bool emphasis = false;   ///< bold, dim and one accent by escape sequences
};

/// A span of time as people say it, in at most two units: `2 h 5 min`, `48 d
/// 13 h`, `31.02 s`, `250 ms`; a minus sign in front where it is negative.
std::string duration_words(Duration duration);

/// 3356 as `3,356`.
std::string count_words(std::uint64_t count);

/// `1 report`, `2 reports`.
std::string counted(std::uint64_t count, std::string_view one, std::string_view many);

/// A share with its interval in per cent: `97.3 % (95.1 to 98.6)`. `100` is
/// written for exactly 1 alone; a share just below gets the decimals it needs.
std::string share_words(double share, double low, double high);

/// A moment to the second in the time zone of this process: `2026-03-02 07:15:03`.
std::string local_time(Instant instant);

/// Text of unknown origin made safe to show: control characters, characters that
/// turn the direction of writing or have no width, and bytes that are no UTF-8
/// become `\x1B` or `\u{202E}`; without Unicode all that isn't ASCII does.
std::string safe_text(std::string_view text, bool unicode);

/// Columns that safe text takes, reckoning one for every character.
std::size_t columns(std::string_view text);

/// `text` in exactly `width` columns: filled with blanks, or cut with a mark.
std::string fit(std::string_view text, std::size_t width, bool unicode);

/// Breaks at blanks so that no line is wider than `width` where words allow;
/// lines after the first begin with `indent` blanks. Ends without a line break.
std::string wrap(std::string_view text, std::size_t width, std::size_t indent);

}  // namespace fieldfare::render
