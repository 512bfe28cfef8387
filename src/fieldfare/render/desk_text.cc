// SPDX-License-Identifier: Apache-2.0
#include <fmt/core.h>

#include "fieldfare/base/number_text.h"
#include "fieldfare/render/desk_screen.h"
#include "fieldfare/render/internal/desk_words.h"
#include "fieldfare/render/internal/page.h"
#include "fieldfare/render/judge_view.h"

namespace fieldfare::render {
namespace {

using internal::Page;

constexpr std::size_t kNameWidth = 10;

std::string readings_of(const work::DeskRow& row, bool unicode) {
  std::string text;
  for (const judge::NamedValue& reading : row.readings) {
    text += fmt::format("{}{} {}", text.empty() ? "" : ", ", safe_text(reading.name, unicode),
                        number_text(reading.value));
  }
  return text;
}

/// Its label and address, as far as they are known and not its name.
std::string identity_of(const work::DeskRow& row, bool unicode) {
  std::string text = safe_text(internal::called(row), unicode);
  if (!row.digits.empty() && !row.name.empty()) {
    text += ", label " + safe_text(row.digits, unicode);
  }
  if (!row.address.empty() && internal::called(row) != row.address) {
    text += ", address " + safe_text(row.address, unicode);
  }
  return text;
}

void put_heard(Page& page, const work::DeskRow& row, Instant now) {
  std::string heard = counted(row.reports, "report", "reports");
  if (row.newest) heard += ", the newest at " + internal::clock_words(*row.newest, now);
  if (row.interval) heard += ", every " + duration_words(*row.interval);
  if (row.counter) heard += fmt::format(", counter {}", internal::counter_words(row));
  if (row.rssi_dbm) heard += fmt::format(", {:.0f} dBm", *row.rssi_dbm);
  page.entry("heard", heard, kNameWidth);
  const std::string readings = readings_of(row, page.style().unicode);
  if (!readings.empty()) page.entry("readings", readings, kNameWidth);
}

void put_node(Page& page, const work::DeskRow& row, Instant now) {
  std::string head = identity_of(row, page.style().unicode);
  if (!row.verdict.headline.empty()) head += ": " + page.safe(row.verdict.headline);
  page.heading(head);
  put_heard(page, row, now);
  for (const judge::Verdict& verdict : row.verdict.verdicts) {
    page.entry(word_of(verdict.claim),
               fmt::format("{}: {}", word_of(verdict.outcome), page.safe(verdict.why)), kNameWidth);
  }
  if (!row.note.empty()) page.entry("note", page.safe(row.note), kNameWidth);
  if (!row.verdict.next.empty()) page.entry("to do", page.safe(row.verdict.next), kNameWidth);
  if (row.verdict.delivery_at) {
    page.entry("later",
               fmt::format("delivery can be met at {} local time, if no more is lost",
                           internal::clock_words(*row.verdict.delivery_at, now)),
               kNameWidth);
  }
}

void put_sources(Page& page, const work::DeskView& view) {
  page.heading("Sources");
  for (const work::DeskSource& source : view.sources) {
    page.item(fmt::format("{} {}: {}; {}, {}, {} unread", page.safe(source.name),
                          page.safe(source.where), page.safe(source.state),
                          counted(source.octets, "byte", "bytes"),
                          counted(source.frames, "frame", "frames"), count_words(source.unread)));
    if (!source.remedy.empty()) page.item(page.safe(source.remedy));
  }
  if (!view.frames.what.empty()) page.item("frames: " + page.safe(view.frames.what));
  if (!view.frames.decides.empty()) page.item(page.safe(view.frames.decides));
}

void put_reminders(Page& page, const work::DeskView& view) {
  page.heading("Reminders");
  for (const work::Reminder& reminder : view.reminders) {
    std::string text = fmt::format("{}: {}", internal::clock_words(reminder.due, view.now),
                                   page.safe(reminder.what));
    if (!reminder.node.empty()) text += fmt::format(" ({})", page.safe(reminder.node));
    page.item(text);
  }
}

}  // namespace

std::string desk_line(const work::DeskRow& row, Instant now, const TextStyle& style) {
  std::string line =
      internal::clock_words(row.newest.value_or(now), now) + "  " + identity_of(row, style.unicode);
  if (row.counter) line += "  counter " + internal::counter_words(row);
  if (row.rssi_dbm) line += fmt::format("  {:.0f} dBm", *row.rssi_dbm);
  const std::string readings = readings_of(row, style.unicode);
  if (!readings.empty()) line += "  " + readings;
  if (row.is_awaited) line += "  awaited";
  if (!row.verdict.headline.empty()) {
    line += "  " + safe_text(row.verdict.headline, style.unicode);
    if (!row.verdict.next.empty()) line += ": " + safe_text(row.verdict.next, style.unicode);
  }
  return line + '\n';
}

std::string desk_text(const work::DeskView& view, const TextStyle& style) {
  Page page{style};
  std::size_t works = 0;
  for (const work::DeskRow& row : view.rows) works += row.verdict.works ? 1 : 0;
  page.line(page.bold(fmt::format("{} from {} to {}: {} of them {} as far as a desk can show",
                                  counted(view.rows.size(), "node", "nodes"),
                                  local_time(view.since), local_time(view.now), count_words(works),
                                  works == 1 ? "works" : "work")));
  for (const work::DeskRow& row : view.rows) put_node(page, row, view.now);
  if (!view.advice.empty()) {
    page.heading("What to check");
    for (const std::string& advice : view.advice) page.item(page.safe(advice));
  }
  put_sources(page, view);
  put_reminders(page, view);
  if (!view.saved_in.empty() || !view.kept_in.empty()) page.heading("Kept");
  if (!view.saved_in.empty()) {
    page.item(fmt::format("as a site in {}; go on with: fieldfare judge {}",
                          page.safe(view.saved_in), page.safe(view.saved_in)));
  }
  if (!view.kept_in.empty()) page.item("all bytes in " + page.safe(view.kept_in));
  return page.finish();
}

}  // namespace fieldfare::render
