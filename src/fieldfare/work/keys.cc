// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/work/keys.h"

#include <cstddef>

#include "fieldfare/base/utf8.h"

namespace fieldfare::work {
namespace {

constexpr char kEscape = 0x1B;
constexpr char kEndOfTransmission = 0x04;
constexpr char kBackspace = 0x08;
constexpr char kDelete = 0x7F;
/// Longer ones are forgotten but for their end: no key of ours has so many.
constexpr std::size_t kLongestSequence = 16;

bool begins_character(unsigned char byte) { return byte < 0x80 || byte >= 0xC0; }

std::size_t size_announced(unsigned char lead) {
  if (lead < 0x80) return 1;
  if (lead < 0xE0) return 2;
  return lead < 0xF0 ? 3 : 4;
}

char32_t code_point(std::string_view character) {
  const auto lead = static_cast<unsigned char>(character.front());
  if (character.size() == 1) return lead;
  char32_t value = lead & (0xFFU >> (character.size() + 1));
  for (const char byte : character.substr(1)) {
    value = (value << 6) | (static_cast<unsigned char>(byte) & 0x3FU);
  }
  return value;
}

}  // namespace

std::vector<KeyPress> KeyDecoder::feed(std::string_view bytes) {
  std::vector<KeyPress> presses;
  for (const char byte : bytes) take(byte, presses);
  return presses;
}

std::vector<KeyPress> KeyDecoder::pause() {
  if (state_ != State::escape) return {};
  state_ = State::plain;
  pasting_ = false;  // the way out where a paste's end was lost
  return {{Key::escape}};
}

void KeyDecoder::take(char byte, std::vector<KeyPress>& presses) {
  switch (state_) {
    case State::plain:
      return take_plain(byte, presses);
    case State::escape:
      state_ = State::plain;
      if (byte == '[') {
        sequence_.clear();
        state_ = State::control;
      } else if (byte == 'O') {
        state_ = State::single_shift;
      } else {
        presses.push_back({Key::escape});
        take_plain(byte, presses);
      }
      return;
    case State::control:
      return take_control(byte, presses);
    case State::single_shift:
      state_ = State::plain;
      sequence_.clear();
      return finish_control(byte, presses);
  }
}

void KeyDecoder::take_plain(char byte, std::vector<KeyPress>& presses) {
  if (static_cast<unsigned char>(byte) >= 0x80) return take_character(byte, presses);
  character_.clear();
  switch (byte) {
    case kEscape:
      state_ = State::escape;
      return;
    case '\r':
    case '\n':
      presses.push_back(pasting_ ? KeyPress{Key::character, U' '} : KeyPress{Key::enter});
      return;
    case '\t':
      if (pasting_) presses.push_back({Key::character, U' '});
      return;
    case kBackspace:
    case kDelete:
      if (!pasting_) presses.push_back({Key::backspace});
      return;
    case kEndOfTransmission:
      if (!pasting_) presses.push_back({Key::end_of_input});
      return;
    default:
      if (byte >= ' ') presses.push_back({Key::character, static_cast<char32_t>(byte)});
  }
}

void KeyDecoder::take_character(char byte, std::vector<KeyPress>& presses) {
  if (begins_character(static_cast<unsigned char>(byte))) character_.clear();
  character_ += byte;
  const auto lead = static_cast<unsigned char>(character_.front());
  if (begins_character(lead) && character_.size() < size_announced(lead)) return;
  const bool whole = utf8_character_size(character_) == character_.size();
  if (whole && !is_control(character_)) {
    presses.push_back({Key::character, code_point(character_)});
  }
  character_.clear();
}

void KeyDecoder::take_control(char byte, std::vector<KeyPress>& presses) {
  if (byte == kEscape) {
    state_ = State::escape;  // the sequence was torn off for good
  } else if (byte >= 0x40 && byte <= 0x7E) {
    state_ = State::plain;
    finish_control(byte, presses);
  } else if (byte >= 0x20 && byte < 0x40) {
    if (sequence_.size() < kLongestSequence) sequence_ += byte;
  } else {
    state_ = State::plain;  // no byte of a sequence
    take_plain(byte, presses);
  }
}

void KeyDecoder::finish_control(char last, std::vector<KeyPress>& presses) {
  if (last == '~') {
    if (sequence_ == "200") pasting_ = true;
    if (sequence_ == "201") pasting_ = false;
    if (sequence_ == "5") presses.push_back({Key::page_up});
    if (sequence_ == "6") presses.push_back({Key::page_down});
    return;
  }
  switch (last) {
    case 'A':
      presses.push_back({Key::up});
      return;
    case 'B':
      presses.push_back({Key::down});
      return;
    case 'M':
      if (sequence_.empty()) presses.push_back({Key::enter});  // of the keypad
      return;
    default:
      return;
  }
}

}  // namespace fieldfare::work
