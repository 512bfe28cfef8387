// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/words.h"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <ctime>

#include "fieldfare/wire/excerpt.h"

namespace fieldfare::render {
namespace {

struct Unit {
  std::int64_t seconds;
  const char* name;
};
constexpr std::array<Unit, 5> kUnits = {
    {{31'557'600, "y"}, {86'400, "d"}, {3'600, "h"}, {60, "min"}, {1, "s"}}};

std::string short_duration(double seconds) {
  if (seconds < 1) return fmt::format("{:.3g} ms", seconds * 1e3);
  return fmt::format("{:.4g} s", seconds);
}

std::string percent(double share, int decimals) {
  if (share >= 1) return "100";
  if (share <= 0) return "0";
  return fmt::format("{:.{}f}", share * 100, decimals);
}

char32_t code_point_of(std::string_view character) {
  const auto first = static_cast<unsigned char>(character.front());
  if (character.size() == 1) return first;
  char32_t value = first & (0xFFU >> (character.size() + 1));
  for (const char c : character.substr(1)) {
    value = (value << 6) | (static_cast<unsigned char>(c) & 0x3FU);
  }
  return value;
}

struct Span {
  char32_t first, last;
};
/// What would move the cursor, turn the direction of writing, or not be seen.
constexpr std::array<Span, 11> kHidden = {{{0x00, 0x1F},
                                           {0x7F, 0x9F},
                                           {0xAD, 0xAD},
                                           {0x061C, 0x061C},
                                           {0x180E, 0x180E},
                                           {0x200B, 0x200F},
                                           {0x2028, 0x202E},
                                           {0x2060, 0x206F},
                                           {0xFE00, 0xFE0F},
                                           {0xFEFF, 0xFEFF},
                                           {0xE0000, 0xE0FFF}}};

bool hidden(char32_t c) {
  return std::any_of(kHidden.begin(), kHidden.end(),
                     [c](const Span& span) { return span.first <= c && c <= span.last; });
}

std::string_view first_word(std::string_view text) { return text.substr(0, text.find(' ')); }

bool is_unit(std::string_view word) {
  constexpr std::array<std::string_view, 11> kWords = {"%", "s",  "min", "h",   "d", "y",
                                                       "w", "ms", "dB",  "dBm", "V"};
  while (word.ends_with(',') || word.ends_with(';') || word.ends_with('.') || word.ends_with(':') ||
         word.ends_with(')')) {
    word.remove_suffix(1);
  }
  return std::find(kWords.begin(), kWords.end(), word) != kWords.end();
}

/// The beginning of `text` that stays on one line: a word, and with a number the
/// unit that follows it.
std::string_view unbroken(std::string_view text) {
  std::string_view piece = first_word(text);
  const bool number = !piece.empty() && piece.back() >= '0' && piece.back() <= '9';
  if (!number || piece.size() == text.size()) return piece;
  const std::string_view next = first_word(text.substr(piece.size() + 1));
  return is_unit(next) ? text.substr(0, piece.size() + 1 + next.size()) : piece;
}

}  // namespace

std::string duration_words(Duration duration) {
  if (duration.ns < 0) return "-" + duration_words(Duration{-duration.ns});
  const double exact = static_cast<double>(duration.ns) / 1e9;
  if (exact < 59.995) return short_duration(exact);

  std::int64_t seconds = std::llround(exact);
  std::string words;
  int units = 0;
  for (const Unit& unit : kUnits) {
    const std::int64_t count = seconds / unit.seconds;
    if (count == 0 && words.empty()) continue;
    seconds -= count * unit.seconds;
    if (count > 0) words += fmt::format("{}{} {}", words.empty() ? "" : " ", count, unit.name);
    if (++units == 2) break;
  }
  return words;
}

std::string count_words(std::uint64_t count) {
  std::string digits = std::to_string(count);
  for (std::size_t at = digits.size(); at > 3; at -= 3) digits.insert(at - 3, ",");
  return digits;
}

std::string counted(std::uint64_t count, std::string_view one, std::string_view many) {
  return fmt::format("{} {}", count_words(count), count == 1 ? one : many);
}

std::string share_words(double share, double low, double high) {
  int decimals = 1;
  while (decimals < 5 && share < 1 && percent(share, decimals).starts_with("100")) ++decimals;
  return fmt::format("{} % ({} to {})", percent(share, decimals), percent(low, decimals),
                     percent(high, decimals));
}

std::string local_time(Instant instant) {
  constexpr std::int64_t kSecond = 1'000'000'000;
  std::int64_t seconds = instant.ns / kSecond;
  if (instant.ns % kSecond < 0) --seconds;
  const std::time_t time{seconds};
  std::tm parts{};
  localtime_r(&time, &parts);
  return fmt::format("{:04}-{:02}-{:02} {:02}:{:02}:{:02}", parts.tm_year + 1900, parts.tm_mon + 1,
                     parts.tm_mday, parts.tm_hour, parts.tm_min, parts.tm_sec);
}

std::string safe_text(std::string_view text, bool unicode) {
  std::string safe;
  while (!text.empty()) {
    const std::size_t size = wire::utf8_character_size(text);
    if (size == 0) {
      safe += fmt::format("\\x{:02X}", static_cast<unsigned char>(text.front()));
      text.remove_prefix(1);
      continue;
    }
    const char32_t c = code_point_of(text.substr(0, size));
    if (c < 0x20 || c == 0x7F) {
      safe += fmt::format("\\x{:02X}", static_cast<std::uint32_t>(c));
    } else if (hidden(c) || (!unicode && c > 0x7E)) {
      safe += fmt::format("\\u{{{:04X}}}", static_cast<std::uint32_t>(c));
    } else {
      safe += text.substr(0, size);
    }
    text.remove_prefix(size);
  }
  return safe;
}

std::size_t columns(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0) != 0x80;
  }));
}

std::string fit(std::string_view text, std::size_t width, bool unicode) {
  const std::size_t wide = columns(text);
  if (wide <= width) return std::string{text} + std::string(width - wide, ' ');
  std::string cut;
  for (std::size_t column = 0; column + 1 < width; ++column) {
    const std::size_t size = std::max<std::size_t>(1, wire::utf8_character_size(text));
    cut += text.substr(0, size);
    text.remove_prefix(size);
  }
  if (width > 0) cut += unicode ? "…" : "~";
  return cut;
}

std::string wrap(std::string_view text, std::size_t width, std::size_t indent) {
  std::string out;
  std::size_t at = 0;
  bool line_begins = true;
  while (!text.empty()) {
    const std::string_view piece = unbroken(text);
    const std::size_t wide = columns(piece);
    if (!line_begins && at + 1 + wide > width) {
      out += '\n';
      out.append(indent, ' ');
      at = indent;
      line_begins = true;
    }
    if (!line_begins) {
      out += ' ';
      ++at;
    }
    out += piece;
    at += wide;
    line_begins = false;
    text.remove_prefix(std::min(piece.size() + 1, text.size()));
  }
  return out;
}

}  // namespace fieldfare::render
