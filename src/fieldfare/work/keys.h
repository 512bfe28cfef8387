// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/work/hand.h"

namespace fieldfare::work {

/// What a terminal sends, as key presses. Bytes may come in any division: a
/// character or an escape sequence that is torn waits for its rest. Sequences that
/// mean none of our keys, control characters and bytes that are no UTF-8 are left
/// out. A line break within a bracketed paste is a blank: pasted text presses no key.
///
/// Source: ECMA-48 sections 5.4 (control sequences) and 8.3.143 (SS3); the numbers
/// of page keys and of bracketed paste are the terminals' custom (common practice).
class KeyDecoder {
 public:
  std::vector<KeyPress> feed(std::string_view bytes);

  /// Nothing came for a while: an escape character that stands alone was the key.
  /// A twentieth of a second is common practice; over slow lines more.
  std::vector<KeyPress> pause();

  /// Whether pause() would change something.
  bool waits_for_pause() const { return state_ == State::escape; }

 private:
  enum class State : std::uint8_t { plain, escape, control, single_shift };

  void take(char byte, std::vector<KeyPress>& presses);
  void take_plain(char byte, std::vector<KeyPress>& presses);
  void take_character(char byte, std::vector<KeyPress>& presses);
  void take_control(char byte, std::vector<KeyPress>& presses);
  void finish_control(char last, std::vector<KeyPress>& presses);

  State state_ = State::plain;
  bool pasting_ = false;
  std::string sequence_;   ///< parameters of the control sequence so far
  std::string character_;  ///< bytes of a character that isn't whole yet
};

}  // namespace fieldfare::work
