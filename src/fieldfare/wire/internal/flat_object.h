// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

namespace fieldfare::wire {

/// Walks the members of one JSON object (RFC 8259) whose values are texts,
/// numbers, true, false and null, and checks its grammar wholly on the way.
///
/// For rows of some hundred bytes this is about twice as fast as a parser for
/// all of JSON, which must first index each line by itself; tests hold it
/// against such parsers.
class FlatObject {
 public:
  enum class Step : std::uint8_t {
    member,
    end,      ///< the object closed and nothing but blanks follows
    damaged,  ///< no JSON
    not_utf8,
    nested,    ///< a value is an object or an array
    no_object  ///< the line does not begin with `{`
  };
  enum class Type : std::uint8_t { text, number, truth, null };

  struct Member {
    std::string_view key;
    std::string_view value;  ///< of texts without quotes and escapes, of numbers as written
    Type type = Type::null;
    bool key_is_usual = false;   ///< the guess was right
    std::size_t key_offset = 0;  ///< of the key's quote in the line
    std::size_t value_offset = 0;
  };

  /// Begins with another line. What was handed out before becomes invalid.
  void begin(std::string_view line);

  /// Goes to the next member. After any step but `member` there is nothing more
  /// to ask. `usual_key` is a guess at the next key, with its quotes: where it is
  /// right it is found by one comparison. It must be of printable ASCII without
  /// further quotes and backslashes; an empty one is no guess.
  Step next(Member& member, std::string_view usual_key);

  /// How far the reading came: where the damage is, or near it.
  std::size_t offset() const { return at_; }

 private:
  bool take(char c);
  void skip_blanks();
  bool take_key(Member& member, std::string_view usual_key);
  bool take_text(std::string_view& text);
  bool end_of_plain(bool& escaped);
  bool take_number(std::string_view& token);
  bool take_word(std::string_view word);
  Step take_value(Member& member);
  Step finish();
  bool unescape(std::string_view raw, std::string_view& text);

  std::string_view line_;
  std::size_t at_ = 0;
  bool first_ = true;
  bool ascii_ = true;
  std::string unescaped_;  ///< what texts with escapes refer to
};

}  // namespace fieldfare::wire
