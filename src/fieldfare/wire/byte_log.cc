// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/byte_log.h"

#include <array>
#include <utility>

#include "fieldfare/wire/internal/octet_text.h"

namespace fieldfare::wire {
namespace {

constexpr std::array<std::pair<std::string_view, ByteEvent>, 7> kWords{{
    {"stream", ByteEvent::stream},
    {"message", ByteEvent::message},
    {"waited", ByteEvent::waited},
    {"up", ByteEvent::up},
    {"alive", ByteEvent::alive},
    {"down", ByteEvent::down},
    {"said", ByteEvent::said},
}};
/// Stands where there is no time, no receiver, or no octet.
constexpr std::string_view kNone = "-";

std::string_view word_of(ByteEvent event) {
  for (const auto& [word, its] : kWords) {
    if (its == event) return word;
  }
  return {};
}

std::optional<ByteEvent> event_of(std::string_view word) {
  for (const auto& [its, event] : kWords) {
    if (its == word) return event;
  }
  return std::nullopt;
}

bool has_octets(ByteEvent event) {
  return event == ByteEvent::stream || event == ByteEvent::message || event == ByteEvent::waited;
}

bool has_text(ByteEvent event) {
  return event == ByteEvent::message || event == ByteEvent::waited || event == ByteEvent::said;
}

/// Octets that would end a word or a line go as % and two hex digits.
std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const auto octet = static_cast<std::uint8_t>(c);
    if (octet <= 0x20 || octet == 0x7F || c == '%') {
      out += '%' + hex_of({&octet, 1});
    } else {
      out += c;
    }
  }
  return out.empty() || out == kNone ? (text.empty() ? std::string{kNone} : "%2D") : out;
}

std::optional<std::string> unescaped(std::string_view text) {
  if (text == kNone) return std::string{};
  std::string out;
  while (!text.empty()) {
    if (text.front() != '%') {
      out += text.front();
      text.remove_prefix(1);
      continue;
    }
    if (text.size() < 3) return std::nullopt;
    const auto octet = octets_of_hex(text.substr(1, 2));
    if (!octet) return std::nullopt;
    out += static_cast<char>(octet->front());
    text.remove_prefix(3);
  }
  return out;
}

bool is_blank(char c) { return c == ' ' || c == '\t' || c == '\r'; }

void skip_blanks(std::string_view& line) {
  while (!line.empty() && is_blank(line.front())) line.remove_prefix(1);
}

std::string_view next_word(std::string_view& line) {
  skip_blanks(line);
  std::size_t end = 0;
  while (end < line.size() && !is_blank(line[end])) ++end;
  const std::string_view word = line.substr(0, end);
  line.remove_prefix(end);
  return word;
}

/// Hex to the end of the line, with blanks wherever.
std::optional<fleet::Octets> spaced_hex(std::string_view line) {
  std::string digits;
  for (const char c : line) {
    if (!is_blank(c)) digits += c;
  }
  if (digits.empty()) return std::nullopt;
  return octets_of_hex(digits);
}

ByteLine read_hand_written(std::optional<Instant> at, std::string_view rest, LoggedBytes& into) {
  auto octets = spaced_hex(rest);
  if (!octets) return ByteLine::unreadable;
  into = {at, {}, ByteEvent::message, std::move(*octets), {}};
  return ByteLine::event;
}

/// Behind the time: receiver, event, and what belongs to it. False where it isn't
/// such a line.
bool read_event(std::string_view rest, LoggedBytes& into) {
  auto receiver = unescaped(next_word(rest));
  const auto event = event_of(next_word(rest));
  if (!receiver || !event) return false;
  into.receiver = std::move(*receiver);
  into.event = *event;
  into.octets.clear();
  into.topic.clear();
  if (has_octets(*event)) {
    const std::string_view hex = next_word(rest);
    auto octets = hex == kNone ? fleet::Octets{} : octets_of_hex(hex);
    if (hex.empty() || !octets) return false;
    into.octets = std::move(*octets);
  }
  if (has_text(*event)) {
    const std::string_view word = next_word(rest);
    auto topic = unescaped(word.empty() ? kNone : word);
    if (!topic) return false;
    into.topic = std::move(*topic);
  }
  return next_word(rest).empty();
}

}  // namespace

std::string byte_log_line(const LoggedBytes& logged) {
  std::string line = logged.at ? to_rfc3339(*logged.at) : std::string{kNone};
  line += ' ';
  line += escaped(logged.receiver);
  line += ' ';
  line += word_of(logged.event);
  if (has_octets(logged.event)) {
    line += ' ';
    line += logged.octets.empty() ? std::string{kNone} : hex_of(logged.octets);
  }
  if (has_text(logged.event) && !logged.topic.empty()) {
    line += ' ';
    line += escaped(logged.topic);
  }
  line += '\n';
  return line;
}

ByteLine read_byte_line(std::string_view line, LoggedBytes& into) {
  skip_blanks(line);
  if (line.empty() || line.front() == '#') return ByteLine::nothing;
  std::string_view rest = line;
  const std::string_view first = next_word(rest);
  const auto at = parse_rfc3339(first);
  if (!at && first != kNone) return read_hand_written(std::nullopt, line, into);
  LoggedBytes read;
  read.at = at;
  if (read_event(rest, read)) {
    into = std::move(read);
    return ByteLine::event;
  }
  return read_hand_written(at, rest, into);
}

}  // namespace fieldfare::wire
