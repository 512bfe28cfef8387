// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/work/hand.h"

#include <fmt/core.h>

#include <algorithm>
#include <utility>

#include "fieldfare/work/internal/typed_text.h"

namespace fieldfare::work {
namespace {

using internal::append_utf8;
using internal::characters_in;
using internal::hex_digit;
using internal::is_hex;
using internal::is_separator;
using internal::is_text;
using internal::trimmed;
using internal::TypedValue;
using internal::value_in;

constexpr std::string_view kLabelKey = "label ";
constexpr std::string_view kUsualFolder = "desk-site";
/// An EUI-64 has as many.
constexpr std::size_t kMostDigits = 16;
/// So many hex digits agree by chance once in 65,536: they were read from a label.
constexpr std::size_t kDigitsOfALabel = 4;
constexpr std::size_t kMostCandidatesTold = 4;
constexpr std::size_t kRowsOfAPage = 8;
constexpr std::size_t kMostPages = 40;

std::size_t longest(Asking asking) {
  switch (asking) {
    case Asking::find:
      return kMostDigits;
    case Asking::name:
      return 40;
    case Asking::value:
      return 80;
    case Asking::note:
    case Asking::folder:
      return 200;
    case Asking::nothing:
    case Asking::leave:
      break;
  }
  return 0;
}

const DeskRow* row_of(const DeskView& view, std::string_view key) {
  for (const DeskRow& row : view.rows) {
    if (row.key == key) return &row;
  }
  return nullptr;
}

bool ends_in(const DeskRow& row, std::string_view digits) {
  if (row.address.ends_with(digits) || row.digits.ends_with(digits)) return true;
  return row.address.empty() && !row.digits.empty() && digits.ends_with(row.digits);
}

/// What a row is called in an answer.
std::string called(const DeskRow& row) {
  std::string text = row.address.empty() ? row.key : row.address;
  if (!row.name.empty()) text += fmt::format(" ({})", row.name);
  return text;
}

/// By what its reports are recognised: its label, or its address where that is hex.
std::string digits_of(const DeskRow& row) {
  if (!row.digits.empty()) return row.digits;
  return row.address.size() <= kMostDigits && is_hex(row.address) ? row.address : std::string{};
}

}  // namespace

const DeskRow* chosen_row(const HandState& state, const DeskView& view) {
  if (state.chosen.empty()) return nullptr;
  if (const DeskRow* row = row_of(view, state.chosen)) return row;
  if (!state.chosen.starts_with(kLabelKey)) return nullptr;
  const std::string_view digits = std::string_view{state.chosen}.substr(kLabelKey.size());
  for (const DeskRow& row : view.rows) {
    if (row.digits == digits) return &row;
  }
  return nullptr;
}

std::vector<std::string> rows_ending_in(const DeskView& view, std::string_view digits) {
  std::vector<std::string> keys;
  if (digits.empty()) return keys;
  for (const DeskRow& row : view.rows) {
    if (ends_in(row, digits)) keys.push_back(row.key);
  }
  return keys;
}

void Hand::tell(std::string answer) { state_.answer = std::move(answer); }

std::optional<Deed> Hand::press(const KeyPress& press, const DeskView& view) {
  state_.answer.clear();
  if (press.key == Key::end_of_input) return DoLeave{};
  switch (state_.asking) {
    case Asking::nothing:
      return press_in_list(press, view);
    case Asking::find:
      return press_while_finding(press, view);
    case Asking::leave:
      return press_while_leaving(press, view);
    case Asking::name:
    case Asking::note:
    case Asking::value:
    case Asking::folder:
      return press_while_typing(press, view);
  }
  return std::nullopt;
}

std::optional<Deed> Hand::press_in_list(const KeyPress& press, const DeskView& view) {
  switch (press.key) {
    case Key::character:
      return press_command(press.character, view);
    case Key::enter:
      if (state_.shows_help) {
        state_.shows_help = false;
      } else if (chosen_row(state_, view)) {
        state_.shows_one = !state_.shows_one;
      } else {
        tell(view.rows.empty() ? "no node is here yet"
                               : "choose a node first: arrow keys, or the digits of its label");
      }
      state_.page = 0;
      return std::nullopt;
    case Key::escape:
      if (state_.shows_help) {
        state_.shows_help = false;
      } else if (state_.shows_one) {
        state_.shows_one = false;
      } else {
        state_.chosen.clear();
      }
      state_.page = 0;
      return std::nullopt;
    case Key::up:
    case Key::down:
    case Key::page_up:
    case Key::page_down:
      move(press, view);
      return std::nullopt;
    case Key::backspace:
    case Key::end_of_input:
      break;
  }
  return std::nullopt;
}

std::optional<Deed> Hand::press_command(char32_t letter, const DeskView& view) {
  if (state_.shows_help && letter != U'?') state_.shows_help = false;
  switch (letter) {
    case U'/':
      ask(Asking::find, view);
      return std::nullopt;
    case U'?':
      state_.shows_help = !state_.shows_help;
      state_.page = 0;
      return std::nullopt;
    case U'p':
      return provoke(view);
    case U'n':
      ask(Asking::name, view);
      return std::nullopt;
    case U't':
      ask(Asking::note, view);
      return std::nullopt;
    case U'v':
      ask(Asking::value, view);
      return std::nullopt;
    case U'r': {
      const DeskRow* row = chosen_row(state_, view);
      if (row) return DoRemind{row->key};
      tell("choose a node first, then r: you are reminded when its delivery can be met");
      return std::nullopt;
    }
    case U's':
      ask(Asking::folder, view);
      return std::nullopt;
    case U'q':
      return leave(view);
    default:
      break;
  }
  if (letter >= U'0' && letter <= U'9') {
    ask(Asking::find, view);
    state_.typed = static_cast<char>(letter);
    find_again(view);
  } else {
    tell("no key of this list; ? shows the keys");
  }
  return std::nullopt;
}

// --- finding ---------------------------------------------------------------------

std::optional<Deed> Hand::press_while_finding(const KeyPress& press, const DeskView& view) {
  switch (press.key) {
    case Key::enter:
      return enter_found(view);
    case Key::escape:
      ask_nothing();
      return std::nullopt;
    case Key::backspace:
      if (state_.typed.empty()) ask_nothing();
      erase();
      find_again(view);
      return std::nullopt;
    case Key::up:
    case Key::down:
    case Key::page_up:
    case Key::page_down:
      move(press, view);
      return std::nullopt;
    case Key::end_of_input:
      return std::nullopt;
    case Key::character:
      break;
  }
  if (const auto digit = hex_digit(press.character)) {
    type(static_cast<unsigned char>(*digit));
    find_again(view);
    return std::nullopt;
  }
  if (is_separator(press.character)) return std::nullopt;
  if (press.character == U'p') return provoke(view);
  if (!settle_found(view)) return std::nullopt;
  ask_nothing();
  return press_command(press.character, view);
}

void Hand::find_again(const DeskView& view) {
  if (state_.asking != Asking::find) return;
  state_.found = rows_ending_in(view, state_.typed);
  if (state_.typed.empty()) return;
  state_.chosen = state_.found.size() == 1 ? state_.found.front() : std::string{};
}

bool Hand::settle_found(const DeskView& view) {
  state_.found = rows_ending_in(view, state_.typed);
  if (state_.found.size() == 1) state_.chosen = state_.found.front();
  if (state_.found.size() < 2) return true;
  const auto is_found = [this](const std::string& key) {
    return std::find(state_.found.begin(), state_.found.end(), key) != state_.found.end();
  };
  if (!state_.chosen.empty() && is_found(state_.chosen)) return true;
  for (const DeskRow& row : view.rows) {
    if (row.digits == state_.typed || row.address == state_.typed) {
      state_.chosen = row.key;
      return true;
    }
  }
  std::string told;
  for (std::size_t i = 0; i < std::min(state_.found.size(), kMostCandidatesTold); ++i) {
    const DeskRow* row = row_of(view, state_.found[i]);
    if (row) told += fmt::format("{}{}", told.empty() ? "" : ", ", called(*row));
  }
  if (state_.found.size() > kMostCandidatesTold) told += " and more";
  tell(fmt::format("{} fits {} nodes: {}; type more digits, or choose by arrow keys", state_.typed,
                   state_.found.size(), told));
  return false;
}

std::optional<Deed> Hand::enter_found(const DeskView& view) {
  const std::string typed = state_.typed;
  if (typed.empty()) {
    ask_nothing();
    return std::nullopt;
  }
  if (!settle_found(view)) return std::nullopt;
  const DeskRow* row = state_.found.empty() ? nullptr : chosen_row(state_, view);
  ask_nothing();
  if (!row) {
    state_.chosen = fmt::format("{}{}", kLabelKey, typed);
    return TypedLabel{typed};
  }
  if (row->digits.empty() && typed.size() >= kDigitsOfALabel) return TypedLabel{typed};
  tell(fmt::format("{} chosen", called(*row)));
  return std::nullopt;
}

std::optional<Deed> Hand::provoke(const DeskView& view) {
  const bool finding = state_.asking == Asking::find && !state_.typed.empty();
  if (finding && !settle_found(view)) return std::nullopt;
  const DeskRow* row = finding && state_.found.empty() ? nullptr : chosen_row(state_, view);
  std::string digits = row ? digits_of(*row) : std::string{};
  // Digits that were typed for this are those of the label, whatever else is known.
  if (finding && (!row || (row->digits.empty() && state_.typed.size() >= kDigitsOfALabel))) {
    digits = state_.typed;
  }
  if (finding && !row) state_.chosen = fmt::format("{}{}", kLabelKey, digits);
  ask_nothing();
  if (!digits.empty()) return DoProvoke{digits};
  tell(row ? "type the digits of its label, then p"
           : "choose a node first, or type the digits of its label; then p");
  return std::nullopt;
}

// --- typing ----------------------------------------------------------------------

void Hand::ask(Asking what, const DeskView& view) {
  const DeskRow* row = chosen_row(state_, view);
  const bool of_a_node = what == Asking::name || what == Asking::note || what == Asking::value;
  if (of_a_node && !row) {
    tell("choose a node first: arrow keys, or the digits of its label");
    return;
  }
  if (row) state_.chosen = row->key;
  if (what == Asking::find) state_.shows_one = false;  // it is done in the list
  state_.asking = what;
  state_.found.clear();
  state_.typed.clear();
  if (what == Asking::name) state_.typed = row->name;
  if (what == Asking::note) state_.typed = row->note;
  if (what == Asking::folder) {
    state_.typed = view.saved_in.empty() ? std::string{kUsualFolder} : view.saved_in;
  }
}

void Hand::ask_nothing() {
  state_.asking = Asking::nothing;
  state_.typed.clear();
  state_.found.clear();
}

std::optional<Deed> Hand::press_while_typing(const KeyPress& press, const DeskView& view) {
  switch (press.key) {
    case Key::character:
      type(press.character);
      return std::nullopt;
    case Key::backspace:
      erase();
      return std::nullopt;
    case Key::escape:
      ask_nothing();
      return std::nullopt;
    case Key::enter:
      return enter_typed(view);
    case Key::up:
    case Key::down:
    case Key::page_up:
    case Key::page_down:
    case Key::end_of_input:
      break;
  }
  return std::nullopt;
}

std::optional<Deed> Hand::enter_typed(const DeskView& view) {
  const Asking asked = state_.asking;
  const std::string typed = trimmed(state_.typed);
  if (asked == Asking::folder) {
    if (typed.empty()) {
      tell("the folder needs a name; Escape goes back");
      return std::nullopt;
    }
    ask_nothing();
    return DoSave{typed};
  }
  const DeskRow* row = chosen_row(state_, view);
  if (!row) {
    ask_nothing();
    tell("that node is no longer in the list");
    return std::nullopt;
  }
  if (asked == Asking::value) return enter_value(*row);
  ask_nothing();
  if (asked == Asking::name) return DoName{row->key, typed};
  return DoNote{row->key, typed};
}

std::optional<Deed> Hand::enter_value(const DeskRow& row) {
  const auto value = value_in(state_.typed, row);
  if (!value) {
    tell(
        "write what was measured, its unit last, and the number: temperature_c 21.4; Escape goes "
        "back");
    return std::nullopt;
  }
  ask_nothing();
  return DoValue{row.key, value->field, value->value, value->tolerance};
}

void Hand::type(char32_t character) {
  if (characters_in(state_.typed) >= longest(state_.asking)) {
    tell(fmt::format("no more than {} characters", longest(state_.asking)));
  } else if (is_text(character)) {
    append_utf8(state_.typed, character);
  }
}

void Hand::erase() {
  while (!state_.typed.empty()) {
    const bool begins = (static_cast<unsigned char>(state_.typed.back()) & 0xC0) != 0x80;
    state_.typed.pop_back();
    if (begins) return;
  }
}

// --- leaving, moving -------------------------------------------------------------

std::optional<Deed> Hand::leave(const DeskView& view) {
  const bool worth_saving = std::any_of(view.rows.begin(), view.rows.end(), [](const DeskRow& row) {
    return row.reports > 0 || !row.name.empty() || !row.note.empty();
  });
  if (!worth_saving || !view.saved_in.empty()) return DoLeave{};
  state_.asking = Asking::leave;
  state_.typed.clear();
  return std::nullopt;
}

std::optional<Deed> Hand::press_while_leaving(const KeyPress& press, const DeskView& view) {
  ask_nothing();
  if (press.key == Key::enter) return DoLeave{};
  if (press.key != Key::character) return std::nullopt;
  if (press.character == U'q') return DoLeave{};
  if (press.character == U's') ask(Asking::folder, view);
  return std::nullopt;
}

void Hand::move(const KeyPress& press, const DeskView& view) {
  const bool back = press.key == Key::up || press.key == Key::page_up;
  const bool pages = press.key == Key::page_up || press.key == Key::page_down;
  if (state_.shows_help || (state_.shows_one && pages)) {
    if (back && state_.page > 0) --state_.page;
    if (!back && state_.page < kMostPages) ++state_.page;
    return;
  }
  std::vector<const DeskRow*> among;
  for (const DeskRow& row : view.rows) {
    const bool found = state_.found.empty() || std::find(state_.found.begin(), state_.found.end(),
                                                         row.key) != state_.found.end();
    if (found) among.push_back(&row);
  }
  if (among.empty()) return;
  const std::size_t rows = among.size();
  const std::size_t steps = pages ? kRowsOfAPage : 1;
  const DeskRow* chosen = chosen_row(state_, view);
  const auto at =
      static_cast<std::size_t>(std::find(among.begin(), among.end(), chosen) - among.begin());
  std::size_t next = back ? rows - 1 : 0;
  if (at < rows) next = back ? at - std::min(at, steps) : std::min(at + steps, rows - 1);
  state_.chosen = among[next]->key;
  state_.page = 0;
}

}  // namespace fieldfare::work
