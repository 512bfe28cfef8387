// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/internal/desk_pages.h"

#include <fmt/core.h>

#include "fieldfare/base/number_text.h"
#include "fieldfare/render/internal/desk_words.h"
#include "fieldfare/render/judge_view.h"

namespace fieldfare::render::internal {
namespace {

void put_identity(ScreenLines& page, const work::DeskRow& row) {
  page.entry("label", row.digits.empty() ? "not typed yet: type its last digits, then Enter"
                                         : page.safe(row.digits));
  page.entry("address", row.address.empty() ? "nothing heard of it" : page.safe(row.address));
  if (!row.note.empty()) page.entry("note", page.safe(row.note));
}

void put_reports(ScreenLines& page, const work::DeskRow& row, const work::DeskView& view) {
  std::string heard = counted(row.reports, "report", "reports");
  if (row.newest) {
    heard += fmt::format(
        ", the newest at {} ({} ago)", clock_words(*row.newest, view.now),
        duration_words(Duration{std::max<std::int64_t>(
            0, span_between(*row.newest, view.now).ns / 1'000'000'000 * 1'000'000'000)}));
  }
  page.entry("heard", heard);
  if (row.interval) {
    std::string beat = "every " + duration_words(*row.interval);
    if (row.off_beat) beat += fmt::format(", the newest {} off", offset_words(*row.off_beat));
    if (row.next_beat) beat += ", the next at " + clock_words(*row.next_beat, view.now);
    page.entry("beat", beat);
  }
  if (row.counter) {
    std::string counter = fmt::format("{}", *row.counter);
    if (row.step) counter += fmt::format(", stepped by {}", *row.step);
    page.entry("counter", counter);
  }
  if (row.rssi_dbm) page.entry("level", fmt::format("{:.0f} dBm", *row.rssi_dbm));
  std::string readings;
  for (const judge::NamedValue& reading : row.readings) {
    readings += fmt::format("{}{} {}", readings.empty() ? "" : ", ", page.safe(reading.name),
                            number_text(reading.value));
  }
  if (!readings.empty()) page.entry("readings", readings);
}

void put_verdicts(ScreenLines& page, const work::DeskRow& row, const work::DeskView& view) {
  for (const judge::Verdict& verdict : row.verdict.verdicts) {
    page.entry(word_of(verdict.claim),
               fmt::format("{}: {}", word_of(verdict.outcome), page.safe(verdict.why)));
  }
  if (row.verdict.delivery_at) {
    page.entry("later", fmt::format("delivery can be met at {} local time, if no more is lost",
                                    clock_words(*row.verdict.delivery_at, view.now)));
  }
}

}  // namespace

ScreenLines node_page(const work::DeskRow& row, const work::DeskView& view,
                      const TextStyle& style) {
  ScreenLines page{style};
  std::string head = page.safe(called(row));
  if (!row.verdict.headline.empty()) head += ": " + page.safe(row.verdict.headline);
  page.wrapped(head, 2, 2, row.verdict.failed ? Look::accent : Look::bold);
  if (row.is_awaited) page.entry("awaited", "a report that somebody provokes");
  if (!row.verdict.next.empty()) page.entry("to do", page.safe(row.verdict.next));
  put_identity(page, row);
  put_reports(page, row, view);
  put_verdicts(page, row, view);
  for (const work::Reminder& reminder : view.reminders) {
    const bool of_this =
        !reminder.node.empty() &&
        (reminder.node == row.key || reminder.node == row.address || reminder.node == row.digits);
    if (!of_this) continue;
    page.entry("reminder", fmt::format("{}: {}", clock_words(reminder.due, view.now),
                                       page.safe(reminder.what)));
  }
  return page;
}

ScreenLines help_page(const work::DeskView& view, const TextStyle& style) {
  ScreenLines page{style};
  page.line("Keys", Look::bold);
  page.entry("0-9 or /", "find by the last digits of label or address; Enter takes it");
  page.entry(style.unicode ? "↑ ↓" : "up down", "choose a node");
  page.entry("Enter", "everything about the chosen node; Enter again goes back");
  page.entry("p",
             "you make it report now (button, restart): before or after typing p, both is right");
  page.entry("n t", "name it; write a note");
  page.entry("v", "what an instrument says: temperature_c 21.4");
  page.entry("r", "remind me when its delivery can be met");
  page.entry("s", "save all as a site, in a folder");
  page.entry("Escape", "back");
  page.entry("q", "leave");
  page.line("Signs", Look::bold);
  page.entry(">", "chosen");
  page.entry("*", "the typed digits fit it");
  page.entry("!", "something failed; its page says what");
  page.entry("off", "how late (+) or early (-) the newest report was against its beat");
  page.entry("count", "counter of the newest report, and its step: +1 is nothing lost");
  if (!view.kept_in.empty()) {
    page.wrapped("All bytes are kept in " + page.safe(view.kept_in) + ", saved or not.", 2, 3);
  }
  return page;
}

}  // namespace fieldfare::render::internal
