// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "fieldfare/work/desk.h"

// What keys mean at a desk.
namespace fieldfare::work {

enum class Key : std::uint8_t {
  character,
  enter,
  escape,
  backspace,
  up,
  down,
  page_up,
  page_down,
  end_of_input
};

struct KeyPress {
  Key key = Key::character;
  char32_t character = 0;  ///< of Key::character
};

/// What is to be done; carried out by whoever holds the desk.
struct TypedLabel {
  std::string digits;
};
struct DoProvoke {
  std::string digits;
};
struct DoName {
  std::string key, name;
};
struct DoNote {
  std::string key, note;
};
/// What an instrument says: `temperature_c`, 21.4.
struct DoValue {
  std::string key, field;
  double value = 0;
  double tolerance = 0;  ///< half of the last digit that was typed
};
struct DoRemind {
  std::string key;
};
struct DoSave {
  std::string folder;
};
struct DoLeave {};
using Deed =
    std::variant<TypedLabel, DoProvoke, DoName, DoNote, DoValue, DoRemind, DoSave, DoLeave>;

enum class Asking : std::uint8_t { nothing, find, name, note, value, folder, leave };

/// Where the keyboard is: which row is chosen, what is being typed. Typing never
/// keeps the list from going on.
struct HandState {
  Asking asking = Asking::nothing;
  std::string typed;               ///< what was typed so far
  std::string chosen;              ///< key of the chosen row; empty: none
  std::vector<std::string> found;  ///< keys of the rows that the typed digits fit
  bool shows_one = false;          ///< the chosen row, whole, instead of the list
  bool shows_help = false;
  std::string answer;  ///< to the last key: what was done, or why not
};

class Hand {
 public:
  /// Takes a key press; `view` is what the person sees.
  std::optional<Deed> press(const KeyPress& press, const DeskView& view);
  /// What became of the last deed.
  void tell(std::string answer);
  const HandState& state() const { return state_; }

 private:
  HandState state_;
};

}  // namespace fieldfare::work
