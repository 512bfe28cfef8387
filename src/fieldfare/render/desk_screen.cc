// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/desk_screen.h"

#include <fmt/core.h>

#include <algorithm>

#include "fieldfare/render/internal/desk_pages.h"
#include "fieldfare/render/internal/desk_table.h"
#include "fieldfare/render/internal/desk_words.h"
#include "fieldfare/render/internal/screen_lines.h"

namespace fieldfare::render {
namespace {

using internal::DeskTable;
using internal::Look;
using internal::ScreenLines;
using work::Asking;
using work::DeskRow;
using work::DeskView;
using work::HandState;

constexpr std::size_t kSourcesTold = 4;
constexpr std::size_t kRemindersTold = 3;

// --- above the list --------------------------------------------------------------

std::string counts_of(const work::DeskSource& source) {
  if (source.frames == 0 && source.unread == 0) {
    return source.octets == 0
               ? "nothing came yet"
               : fmt::format("{}, no frame among them", counted(source.octets, "byte", "bytes"));
  }
  return fmt::format("{}, {} unread", counted(source.frames, "frame", "frames"),
                     count_words(source.unread));
}

void put_source(ScreenLines& lines, const work::DeskSource& source) {
  const Look look = source.is_up ? Look::plain : Look::accent;
  lines.wrapped(fmt::format("{} {}: {}; {}", lines.safe(source.name), lines.safe(source.where),
                            lines.safe(source.state), counts_of(source)),
                3, 2, look);
  if (source.remedy.empty()) return;
  lines.remedy(lines.safe(source.remedy), 3, 3, look);
}

std::string_view word_of(work::DeskFrames::State state) {
  switch (state) {
    case work::DeskFrames::State::none:
      return "nothing is known of them yet";
    case work::DeskFrames::State::learning:
      return "being learnt";
    case work::DeskFrames::State::learnt:
      return "learnt";
    case work::DeskFrames::State::given:
      return "as the sheet says";
  }
  return {};
}

void put_frames(ScreenLines& lines, const work::DeskFrames& frames) {
  std::string text = fmt::format("frames {}", word_of(frames.state));
  if (!frames.what.empty()) text += ": " + lines.safe(frames.what);
  lines.wrapped(text, 3, 2);
  if (frames.decides.empty()) return;
  lines.remedy(lines.safe(frames.decides), 3, 2);
}

ScreenLines above(const DeskView& view, const TextStyle& style) {
  ScreenLines lines{style};
  std::uint64_t reports = 0;
  std::size_t nodes = 0;
  for (const DeskRow& row : view.rows) {
    reports += row.reports;
    nodes += row.address.empty() ? 0 : 1;
  }
  std::string title =
      fmt::format("{}  {}, {} since {}", internal::clock_words(view.now, view.now),
                  counted(nodes, "node", "nodes"), counted(reports, "report", "reports"),
                  internal::clock_words(view.since, view.now));
  if (!view.saved_in.empty()) title += "; saved in " + lines.safe(view.saved_in);
  lines.line(title, Look::bold);
  // A newcomer looks at the top: what is wrong stands before what is well.
  std::vector<const work::DeskSource*> sources;
  sources.reserve(view.sources.size());
  for (const work::DeskSource& source : view.sources) sources.push_back(&source);
  std::stable_partition(sources.begin(), sources.end(),
                        [](const auto* source) { return !source->is_up; });
  const std::size_t told = std::min(sources.size(), kSourcesTold);
  for (std::size_t i = 0; i < told; ++i) put_source(lines, *sources[i]);
  if (told < sources.size()) {
    lines.line(fmt::format("   and {}",
                           counted(sources.size() - told, "further source", "further sources")));
  }
  put_frames(lines, view.frames);
  return lines;
}

// --- below it --------------------------------------------------------------------

void put_reminders(ScreenLines& lines, const DeskView& view) {
  std::size_t told = 0;
  for (const work::Reminder& reminder : view.reminders) {
    if (reminder.due > view.now) continue;
    if (++told > kRemindersTold) return;
    std::string text =
        fmt::format("Reminder of {}: {}", internal::clock_words(reminder.due, view.now),
                    lines.safe(reminder.what));
    if (!reminder.node.empty()) text += fmt::format(" ({})", lines.safe(reminder.node));
    lines.wrapped(text, 3, 2, Look::bold);
  }
}

/// What is being typed, its end always in sight.
std::string prompt(std::string_view question, std::string_view typed, const TextStyle& style) {
  std::string safe = safe_text(typed, style.unicode);
  const std::size_t taken = columns(question) + 2;
  const std::size_t room = style.width > taken + 8 ? style.width - taken : 8;
  while (columns(safe) > room) {
    std::size_t size = 1;
    while (size < safe.size() && (static_cast<unsigned char>(safe[size]) & 0xC0) == 0x80) ++size;
    safe.erase(0, size);
  }
  return fmt::format("{} {}_", question, safe);
}

std::string question_of(const HandState& hand, const DeskView& view, const TextStyle& style) {
  const DeskRow* row = work::chosen_row(hand, view);
  const std::string node =
      row ? fit(safe_text(internal::called(*row), style.unicode), 20, style.unicode)
          : std::string{};
  const std::string whose = node.substr(0, node.find_last_not_of(' ') + 1);
  switch (hand.asking) {
    case Asking::find:
      return "digits:";
    case Asking::name:
      return fmt::format("name of {}:", whose);
    case Asking::note:
      return fmt::format("note on {}:", whose);
    case Asking::value:
      return fmt::format("an instrument at {} says:", whose);
    case Asking::folder:
      return "save as a site in folder:";
    case Asking::leave:
    case Asking::nothing:
      break;
  }
  return {};
}

void put_question(ScreenLines& lines, const DeskView& view, const HandState& hand) {
  const TextStyle& style = lines.style();
  if (hand.asking == Asking::nothing) return;
  if (hand.asking == Asking::leave) {
    std::string text = "Not saved as a site.";
    if (!view.kept_in.empty()) {
      text += fmt::format(" All bytes are kept in {} anyway.", lines.safe(view.kept_in));
    }
    lines.wrapped(text + " Leave?", 0, 3, Look::bold);
    return;
  }
  std::string line = prompt(question_of(hand, view, style), hand.typed, style);
  if (hand.asking == Asking::find && !hand.typed.empty()) {
    line += hand.found.empty()
                ? "  no node heard yet fits; Enter takes it as a label"
                : fmt::format("  fits {}", counted(hand.found.size(), "node", "nodes"));
  }
  lines.line(line, Look::bold);
}

struct KeyHint {
  std::string_view text;
  int spared;  ///< left out the sooner, the higher
};

std::vector<KeyHint> hints_of(const HandState& hand) {
  switch (hand.asking) {
    case Asking::find:
      return {{"0-9 a-f digits", 1}, {"Enter take it", 0}, {"p provoke", 0},
              {"n name", 3},         {"v value", 3},       {"Escape back", 0}};
    case Asking::leave:
      return {{"q leave", 0}, {"s save first", 0}, {"Escape stay", 0}};
    case Asking::name:
    case Asking::note:
    case Asking::value:
    case Asking::folder:
      return {{"Enter done", 0}, {"Escape back", 0}};
    case Asking::nothing:
      break;
  }
  if (hand.shows_help) return {{"Escape back", 0}};
  return {{"0-9 find", 2}, {"Enter show", 3}, {"p provoke", 1}, {"n name", 2}, {"t note", 5},
          {"v value", 3},  {"r remind", 4},   {"s save", 1},    {"? help", 0}, {"q leave", 0}};
}

void put_keys(ScreenLines& lines, const HandState& hand) {
  std::vector<KeyHint> hints = hints_of(hand);
  const auto joined = [&] {
    std::string text;
    for (const KeyHint& hint : hints) {
      text += fmt::format("{}{}", text.empty() ? "" : "  ", hint.text);
    }
    return text;
  };
  while (hints.size() > 1 && columns(joined()) > lines.style().width) {
    hints.erase(std::max_element(hints.begin(), hints.end(),
                                 [](const auto& a, const auto& b) { return a.spared < b.spared; }));
  }
  lines.line(joined(), Look::dim);
}

ScreenLines below(const DeskView& view, const HandState& hand, const TextStyle& style) {
  ScreenLines lines{style};
  put_reminders(lines, view);
  if (!hand.answer.empty()) lines.wrapped(lines.safe(hand.answer), 3, 3);
  put_question(lines, view, hand);
  put_keys(lines, hand);
  return lines;
}

// --- the list --------------------------------------------------------------------

/// The rows of the list as lines: one each, the chosen one with what to do next.
class RowLines {
 public:
  RowLines(const DeskView& view, const HandState& hand, const TextStyle& style)
      : view_{view}, hand_{hand}, style_{style}, table_{view, style} {
    const DeskRow* row = work::chosen_row(hand, view);
    if (row) chosen_ = static_cast<std::size_t>(row - view.rows.data());
    if (!row || row->verdict.next.empty()) return;
    next_.remedy(next_.safe(row->verdict.next), 5, 3);
  }

  ScreenLines within(std::size_t most) {
    ScreenLines lines{style_};
    if (view_.rows.empty() || most == 0) return lines;
    if (most > 2) lines.line(table_.head(), Look::dim);
    const std::size_t room = most - lines.size();
    choose_window(room);
    if (first_ > 0 && room > 1) tell_rest(lines, first_, "above");
    for (std::size_t i = first_; i < last_; ++i) put_row(lines, i);
    if (last_ < view_.rows.size() && room > 2) tell_rest(lines, view_.rows.size() - last_, "below");
    lines.cut(most);
    return lines;
  }

 private:
  /// Lines that the rows from first_ to last_ take, with what tells of the others.
  std::size_t lines_taken(std::size_t first, std::size_t last) const {
    const bool with_chosen = chosen_ && first <= *chosen_ && *chosen_ < last;
    return last - first + (with_chosen ? next_.size() : 0) + (first > 0 ? 1 : 0) +
           (last < view_.rows.size() ? 1 : 0);
  }

  void choose_window(std::size_t room) {
    const std::size_t rows = view_.rows.size();
    first_ = chosen_.value_or(0);
    last_ = first_ + 1;
    for (bool grows = true; grows;) {
      grows = false;
      if (last_ < rows && lines_taken(first_, last_ + 1) <= room) {
        ++last_;
        grows = true;
      }
      if (first_ > 0 && lines_taken(first_ - 1, last_) <= room) {
        --first_;
        grows = true;
      }
    }
  }

  void put_row(ScreenLines& lines, std::size_t at) {
    const DeskRow& row = view_.rows[at];
    const bool found =
        std::find(hand_.found.begin(), hand_.found.end(), row.key) != hand_.found.end();
    char mark = found ? '*' : ' ';
    Look look = row.verdict.failed ? Look::accent : Look::plain;
    if (chosen_ == at) {
      mark = '>';
      if (look == Look::plain) look = Look::bold;
    }
    lines.line(table_.line(row, mark), look);
    if (chosen_ == at) lines.append(next_);
  }

  static void tell_rest(ScreenLines& lines, std::size_t count, std::string_view where) {
    lines.line(fmt::format("   {} more {}", count_words(count), where), Look::dim);
  }

  const DeskView& view_;
  const HandState& hand_;
  TextStyle style_;
  DeskTable table_;
  ScreenLines next_{style_};
  std::optional<std::size_t> chosen_;
  std::size_t first_ = 0, last_ = 0;
};

/// Whether it repeats what stands about a source above the list.
bool is_told_above(const std::string& advice, const DeskView& view) {
  return std::any_of(view.sources.begin(), view.sources.end(), [&](const auto& source) {
    return !source.is_up && !source.remedy.empty() && advice.ends_with(source.remedy);
  });
}

ScreenLines advice_of(const DeskView& view, const TextStyle& style) {
  ScreenLines lines{style};
  for (const std::string& advice : view.advice) {
    if (is_told_above(advice, view)) continue;
    if (lines.size() == 0) lines.line("");
    lines.wrapped(fmt::format("   - {}", lines.safe(advice)), 5, 3);
  }
  return lines;
}

ScreenLines middle(const DeskView& view, const HandState& hand, std::size_t most,
                   const TextStyle& style) {
  const DeskRow* chosen = work::chosen_row(hand, view);
  if (hand.shows_help || (hand.shows_one && chosen)) {
    ScreenLines page = hand.shows_help ? internal::help_page(view, style)
                                       : internal::node_page(*chosen, view, style);
    page.window(hand.page * std::max<std::size_t>(1, most / 2), most);
    return page;
  }
  const bool heard = std::any_of(view.rows.begin(), view.rows.end(),
                                 [](const DeskRow& row) { return row.reports > 0; });
  ScreenLines advice = advice_of(view, style);
  // While nothing is heard, what to check matters more than the labels typed so far.
  const std::size_t least_rows = std::min<std::size_t>(most, view.rows.empty() ? 0 : 4);
  if (!heard) advice.cut(most - least_rows);
  ScreenLines lines = RowLines{view, hand, style}.within(heard ? most : most - advice.size());
  lines.append(advice);
  lines.cut(most);
  return lines;
}

}  // namespace

std::vector<std::string> desk_screen(const DeskView& view, const HandState& hand, ScreenSize size,
                                     const TextStyle& style) {
  TextStyle fitted = style;
  fitted.width = std::max<std::size_t>(1, size.columns);
  const std::size_t rows = std::max<std::size_t>(1, size.rows);
  ScreenLines bottom = below(view, hand, fitted);
  ScreenLines top = above(view, fitted);
  // What is typed and answered stays; the list keeps a third, the head what is left.
  bottom.cut_front(std::max<std::size_t>(1, rows / 3));
  top.cut(std::min(rows - bottom.size(), std::max<std::size_t>(1, rows / 2)));
  const std::size_t room = rows - bottom.size() - top.size();
  ScreenLines screen = top;
  screen.append(middle(view, hand, room, fitted));
  while (screen.size() + bottom.size() < rows) screen.line("");
  screen.append(bottom);
  screen.cut(rows);
  return screen.finish();
}

}  // namespace fieldfare::render
