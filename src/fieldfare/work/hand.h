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
  std::optional<Instant> due = {};  ///< absent: when its delivery can be met
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
  std::size_t page = 0;  ///< half screens by which what is shown whole was moved on
  std::string answer;    ///< to the last key: what was done, or why not
};

/// The row that is chosen; also where a label was chosen whose node was heard since.
/// Null: none.
const DeskRow* chosen_row(const HandState& state, const DeskView& view);

/// Rows that digits fit: those of their address or of their label end in them.
std::vector<std::string> rows_ending_in(const DeskView& view, std::string_view digits);

/// Keys, one at a time, into deeds.
///
/// Finding begins with `/` or a digit; from then on hex digits belong to it, and any
/// other letter is a command for what was found. From four digits on, what is entered
/// counts as read from a label; fewer only choose a row.
class Hand {
 public:
  /// Takes a key press; `view` is what the person sees.
  std::optional<Deed> press(const KeyPress& press, const DeskView& view);
  /// What became of the last deed.
  void tell(std::string answer);
  const HandState& state() const { return state_; }

 private:
  std::optional<Deed> press_command(char32_t letter, const DeskView& view);
  std::optional<Deed> press_while_finding(const KeyPress& press, const DeskView& view);
  std::optional<Deed> press_while_typing(const KeyPress& press, const DeskView& view);
  std::optional<Deed> press_while_leaving(const KeyPress& press, const DeskView& view);
  std::optional<Deed> press_in_list(const KeyPress& press, const DeskView& view);
  std::optional<Deed> enter_found(const DeskView& view);
  std::optional<Deed> enter_typed(const DeskView& view);
  std::optional<Deed> enter_value(const DeskRow& row);
  std::optional<Deed> provoke(const DeskView& view);
  std::optional<Deed> leave(const DeskView& view);
  /// False, and said, where digits fit several rows.
  bool settle_found(const DeskView& view);
  void find_again(const DeskView& view);
  void ask(Asking what, const DeskView& view);
  void ask_nothing();
  void move(const KeyPress& press, const DeskView& view);
  void type(char32_t character);
  void erase();

  HandState state_;
};

}  // namespace fieldfare::work
