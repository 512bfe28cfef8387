// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/flat_object.h"

#include <simdjson.h>

#include <optional>

#include "fieldfare/wire/internal/swar.h"

namespace fieldfare::wire {
namespace {

bool is_digit(char c) { return c >= '0' && c <= '9'; }

std::optional<unsigned> hex_digit(char c) {
  if (is_digit(c)) return static_cast<unsigned>(c - '0');
  if (c >= 'a' && c <= 'f') return static_cast<unsigned>(c - 'a' + 10);
  if (c >= 'A' && c <= 'F') return static_cast<unsigned>(c - 'A' + 10);
  return std::nullopt;
}

/// The four hex digits at the front, and takes them.
std::optional<char32_t> take_code_unit(std::string_view& text) {
  if (text.size() < 4) return std::nullopt;
  char32_t unit = 0;
  for (std::size_t i = 0; i < 4; ++i) {
    const std::optional<unsigned> digit = hex_digit(text[i]);
    if (!digit) return std::nullopt;
    unit = unit * 16 + *digit;
  }
  text.remove_prefix(4);
  return unit;
}

/// What follows `\u`: a character, in two halves where it lies past U+FFFF. A
/// half by itself is no character and thus no text.
std::optional<char32_t> take_escaped_character(std::string_view& text) {
  const std::optional<char32_t> first = take_code_unit(text);
  if (!first || *first < 0xD800 || *first > 0xDFFF) return first;
  if (*first > 0xDBFF || !text.starts_with("\\u")) return std::nullopt;
  text.remove_prefix(2);
  const std::optional<char32_t> second = take_code_unit(text);
  if (!second || *second < 0xDC00 || *second > 0xDFFF) return std::nullopt;
  return 0x10000 + ((*first - 0xD800) << 10) + (*second - 0xDC00);
}

void append_utf8(char32_t c, std::string& out) {
  const auto tail = [&](unsigned shift) { out += static_cast<char>(0x80 | ((c >> shift) & 0x3F)); };
  if (c < 0x80) {
    out += static_cast<char>(c);
  } else if (c < 0x800) {
    out += static_cast<char>(0xC0 | (c >> 6));
    tail(0);
  } else if (c < 0x10000) {
    out += static_cast<char>(0xE0 | (c >> 12));
    tail(6);
    tail(0);
  } else {
    out += static_cast<char>(0xF0 | (c >> 18));
    tail(12);
    tail(6);
    tail(0);
  }
}

/// The character that a backslash and `c` stand for, `u` left out.
std::optional<char> short_escape(char c) {
  switch (c) {
    case '"':
    case '\\':
    case '/':
      return c;
    case 'b':
      return '\b';
    case 'f':
      return '\f';
    case 'n':
      return '\n';
    case 'r':
      return '\r';
    case 't':
      return '\t';
    default:
      return std::nullopt;
  }
}

}  // namespace

void FlatObject::begin(std::string_view line) {
  line_ = line;
  at_ = 0;
  first_ = true;
  ascii_ = true;
  unescaped_.clear();
}

FlatObject::Step FlatObject::next(Member& member, std::string_view usual_key) {
  skip_blanks();
  if (first_) {
    if (!take('{')) return Step::no_object;
    skip_blanks();
    if (take('}')) return finish();
    first_ = false;
  } else {
    if (take('}')) return finish();
    if (!take(',')) return Step::damaged;
    skip_blanks();
  }
  member.key_offset = at_;
  if (!take_key(member, usual_key)) return Step::damaged;
  skip_blanks();
  if (!take(':')) return Step::damaged;
  skip_blanks();
  member.value_offset = at_;
  return take_value(member);
}

bool FlatObject::take(char c) {
  if (at_ == line_.size() || line_[at_] != c) return false;
  ++at_;
  return true;
}

void FlatObject::skip_blanks() {
  while (at_ < line_.size() &&
         (line_[at_] == ' ' || line_[at_] == '\t' || line_[at_] == '\r' || line_[at_] == '\n')) {
    ++at_;
  }
}

FlatObject::Step FlatObject::take_value(Member& member) {
  const char first = at_ < line_.size() ? line_[at_] : '\0';
  bool right = false;
  switch (first) {
    case '"':
      member.type = Type::text;
      right = take_text(member.value);
      break;
    case '{':
    case '[':
      return Step::nested;
    case 'n':
      member.type = Type::null;
      member.value = {};
      right = take_word("null");
      break;
    case 't':
    case 'f':
      member.type = Type::truth;
      member.value = first == 't' ? "true" : "false";
      right = take_word(member.value);
      break;
    default:
      member.type = Type::number;
      right = take_number(member.value);
  }
  return right ? Step::member : Step::damaged;
}

FlatObject::Step FlatObject::finish() {
  skip_blanks();
  if (at_ != line_.size()) return Step::damaged;
  if (!ascii_ && !simdjson::validate_utf8(line_.data(), line_.size())) return Step::not_utf8;
  return Step::end;
}

bool FlatObject::take_key(Member& member, std::string_view usual_key) {
  member.key_is_usual = !usual_key.empty() && line_.substr(at_).starts_with(usual_key);
  if (!member.key_is_usual) return take_text(member.key);
  member.key = line_.substr(at_ + 1, usual_key.size() - 2);
  at_ += usual_key.size();
  return true;
}

bool FlatObject::take_text(std::string_view& text) {
  if (!take('"')) return false;
  const std::size_t first = at_;
  bool escaped = false;
  if (!end_of_plain(escaped)) return false;
  const std::string_view raw = line_.substr(first, at_ - first);
  ++at_;  // the closing quote
  text = raw;
  return !escaped || unescape(raw, text);
}

/// Moves to the closing quote. False where there is none before the end of the
/// line, or a control character, which must be escaped.
bool FlatObject::end_of_plain(bool& escaped) {
  while (at_ < line_.size()) {
    if (line_.size() - at_ >= kOctets) {
      const std::uint64_t word = load_octets(line_.data() + at_);
      const std::uint64_t stops = octets_equal(word, '"') | octets_equal(word, '\\') |
                                  octets_below_blank(word) | (word & kOctetTops);
      if (stops == 0) {
        at_ += kOctets;
        continue;
      }
      at_ += first_octet(stops);
    }
    const char c = line_[at_];
    if (c == '"') return true;
    const unsigned char byte = static_cast<unsigned char>(c);
    if (byte < 0x20) return false;
    ascii_ = ascii_ && byte < 0x80;
    if (c == '\\') {
      escaped = true;
      ++at_;  // what it escapes is not looked at here, a quote least of all
      if (at_ == line_.size() || static_cast<unsigned char>(line_[at_]) < 0x20) return false;
      ascii_ = ascii_ && static_cast<unsigned char>(line_[at_]) < 0x80;
    }
    ++at_;
  }
  return false;
}

/// RFC 8259 section 6: [ - ] int [ . digits ] [ e [ + | - ] digits ].
bool FlatObject::take_number(std::string_view& token) {
  const std::size_t begin = at_;
  const auto digits = [this] {
    const std::size_t from = at_;
    while (at_ < line_.size() && is_digit(line_[at_])) ++at_;
    return at_ - from;
  };
  take('-');
  const std::size_t whole = at_;
  const std::size_t whole_digits = digits();
  if (whole_digits == 0 || (whole_digits > 1 && line_[whole] == '0')) return false;
  if (take('.') && digits() == 0) return false;
  if (take('e') || take('E')) {
    if (!take('+')) take('-');
    if (digits() == 0) return false;
  }
  token = line_.substr(begin, at_ - begin);
  return true;
}

bool FlatObject::take_word(std::string_view word) {
  if (!line_.substr(at_).starts_with(word)) return false;
  at_ += word.size();
  return true;
}

bool FlatObject::unescape(std::string_view raw, std::string_view& text) {
  // Room for the whole line at once, so that earlier views stay valid: what is
  // unescaped is shorter than what was written.
  if (unescaped_.capacity() < line_.size()) unescaped_.reserve(line_.size());
  const std::size_t first = unescaped_.size();
  while (!raw.empty()) {
    const char c = raw.front();
    raw.remove_prefix(1);
    if (c != '\\') {
      unescaped_ += c;
      continue;
    }
    const char escape = raw.front();  // end_of_plain() made sure that it is there
    raw.remove_prefix(1);
    if (escape == 'u') {
      const std::optional<char32_t> character = take_escaped_character(raw);
      if (!character) return false;
      append_utf8(*character, unescaped_);
    } else if (const std::optional<char> plain = short_escape(escape)) {
      unescaped_ += *plain;
    } else {
      return false;
    }
  }
  text = std::string_view{unescaped_}.substr(first);
  return true;
}

}  // namespace fieldfare::wire
