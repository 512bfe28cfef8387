// SPDX-License-Identifier: Apache-2.0
// Whatever a terminal sends: the presses are the same however the bytes are divided,
// hold no more than the bytes did, and no character that is none; and a hand that is
// given them keeps what it types bounded and well-formed.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string_view>
#include <vector>

#include "fieldfare/base/utf8.h"
#include "fieldfare/work/keys.h"

namespace {

using namespace fieldfare::work;

bool is_character(char32_t c) {
  return c >= 0x20 && (c < 0x7F || c > 0x9F) && c <= 0x10FFFF && (c < 0xD800 || c > 0xDFFF);
}

DeskView some_desk() {
  DeskView view;
  for (const char* address : {"024D210000005CE7", "024D2100000077E7", "kitchen"}) {
    DeskRow row;
    row.key = row.address = address;
    view.rows.push_back(row);
  }
  return view;
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view bytes{reinterpret_cast<const char*>(data), size};
  const std::vector<KeyPress> whole = KeyDecoder{}.feed(bytes);
  if (whole.size() > size) std::abort();
  KeyDecoder decoder;
  std::vector<KeyPress> pieces;
  for (std::size_t at = 0; at < size;) {
    const std::size_t step = 1 + data[at] % 3;
    for (const KeyPress& press : decoder.feed(bytes.substr(at, step))) pieces.push_back(press);
    at += step;
  }
  if (pieces.size() != whole.size()) std::abort();
  static const DeskView view = some_desk();
  Hand hand;
  for (std::size_t i = 0; i < whole.size(); ++i) {
    if (pieces[i].key != whole[i].key || pieces[i].character != whole[i].character) std::abort();
    if (whole[i].key == Key::character && !is_character(whole[i].character)) std::abort();
    hand.press(whole[i], view);
    const std::string& typed = hand.state().typed;
    if (typed.size() > 800 || fieldfare::well_formed_size(typed) != typed.size()) std::abort();
  }
  return 0;
}
