// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/learn/learn.h"

// Lines of a sample, as text.
namespace fieldfare::learn {

struct TextLine {
  std::string text;  ///< without its end
  std::optional<Instant> at;
  bool after_break = false;  ///< lines before it were left out
};

struct TextLines {
  std::vector<TextLine> lines;  ///< that aren't empty; of very many a share
  std::size_t all = 0;          ///< lines there were
  std::size_t octets = 0;       ///< of the sample
  std::size_t line_octets = 0;  ///< of the lines here, ends included
  std::size_t longest = 0;
  bool are_messages = false;  ///< one a message, without an end
};

/// Nothing where the octets are no text: where a third of them stands in lines with
/// octets that are no UTF-8, or with control characters.
std::optional<TextLines> text_lines(const Sample& sample);

}  // namespace fieldfare::learn
