// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/internal/desk_table.h"

#include <fmt/core.h>

#include <algorithm>
#include <string_view>

#include "fieldfare/render/internal/desk_words.h"

namespace fieldfare::render::internal {
namespace {

constexpr std::size_t kBetween = 2;
constexpr std::size_t kFront = 3;  ///< the marks before the columns
constexpr std::size_t kMostLabel = 8;
constexpr std::size_t kMostAddress = 16;
constexpr std::size_t kMostHeadline = 24;
constexpr std::size_t kNameCap = 16;

}  // namespace

DeskTable::DeskTable(const work::DeskView& view, const TextStyle& style)
    : style_{style}, now_{view.now}, tail_{tail_size(view)} {
  caps_ = {kMostLabel, kMostAddress, kNameCap, kMostHeadline, 8, 9, 8, 16, 5, 28};
  measure(view);
  const auto narrow = [&](auto&& change) {
    if (width() <= style_.width) return;
    change();
    measure(view);
  };
  narrow([&] { caps_[kName] = 12; });
  narrow([&] { readings_shown_ = 1; });
  narrow([&] { caps_[kName] = 10; });
  narrow([&] {
    caps_[kName] = 8;
    caps_[kAddress] = std::max<std::size_t>(tail_, 8);
  });
  for (const Column column : {kOffset, kReadings, kBeat, kName, kCounter, kLevel, kAge}) {
    narrow([&] { caps_[column] = 0; });
  }
  narrow([&] { caps_[kHeadline] = 12; });
}

DeskTable::Cells DeskTable::cells_of(const work::DeskRow& row) const {
  const auto safe = [this](std::string_view text) { return safe_text(text, style_.unicode); };
  Cells cells;
  cells[kLabel] = row.digits.empty() ? "-" : safe(tail_of(row.digits, kMostLabel));
  cells[kAddress] = row.address.empty() ? "-" : safe(tail_of(row.address, tail_));
  cells[kName] = safe(row.name);
  cells[kHeadline] = row.is_awaited ? "awaited" : safe(row.verdict.headline);
  cells[kAge] = row.newest ? age_words(span_between(*row.newest, now_)) : "-";
  if (row.interval) cells[kBeat] = short_span(*row.interval);
  if (row.off_beat) cells[kOffset] = offset_words(*row.off_beat);
  cells[kCounter] = counter_words(row);
  if (row.rssi_dbm) cells[kLevel] = fmt::format("{:.0f}", *row.rssi_dbm);
  for (std::size_t i = 0; i < std::min(readings_shown_, row.readings.size()); ++i) {
    if (i > 0) cells[kReadings] += "  ";
    cells[kReadings] += reading_words(row.readings[i], style_.unicode);
  }
  return cells;
}

void DeskTable::measure(const work::DeskView& view) {
  widths_.fill(0);
  for (const work::DeskRow& row : view.rows) {
    const Cells cells = cells_of(row);
    for (std::size_t i = 0; i < kColumns; ++i) {
      widths_[i] = std::max(widths_[i], std::min(columns(cells[i]), caps_[i]));
    }
  }
  // A column that holds something is at least as wide as its title.
  constexpr std::array<std::size_t, kColumns> kTitleWidths = {5, 4, 4, 6, 3, 4, 3, 5, 3, 7};
  for (std::size_t i = 0; i < kColumns; ++i) {
    if (widths_[i] > 0) widths_[i] = std::max(widths_[i], std::min(kTitleWidths[i], caps_[i]));
  }
}

std::size_t DeskTable::width() const {
  std::size_t all = kFront;
  for (const std::size_t width : widths_) all += width > 0 ? width + kBetween : 0;
  return all - kBetween;
}

std::string DeskTable::put_together(std::string front, const Cells& cells) const {
  std::string line = std::move(front);
  for (std::size_t i = 0; i < kColumns; ++i) {
    if (widths_[i] == 0) continue;
    line += fit(cells[i], widths_[i], style_.unicode);
    line.append(kBetween, ' ');
  }
  return line;
}

std::string DeskTable::head() const {
  return put_together(
      "   ", {"label", "addr", "name", "so far", "age", "beat", "off", "count", "dBm", "reading"});
}

std::string DeskTable::line(const work::DeskRow& row, char mark) const {
  const char failed = row.verdict.failed ? '!' : ' ';
  return put_together(fmt::format("{}{} ", mark, failed), cells_of(row));
}

}  // namespace fieldfare::render::internal
