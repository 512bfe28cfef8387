// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/slot_times.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace fieldfare::learn {
namespace {

constexpr double kFirstTime = 946'684'800;   // s since 1970: 2000-01-01
constexpr double kLastTime = 4'102'444'800;  // s since 1970: 2100-01-01
constexpr double kPerSecond = 1e9;

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// True where the text begins with this shape, `0` standing for any digit.
bool begins_as(std::string_view text, std::string_view shape) {
  if (text.size() < shape.size()) return false;
  for (std::size_t i = 0; i < shape.size(); ++i) {
    if (shape[i] == '0' ? !is_digit(text[i]) : text[i] != shape[i]) return false;
  }
  return true;
}

/// Seconds since 1970 by report, and how they are written.
struct Series {
  std::vector<std::optional<double>> seconds;
  std::size_t count = 0;
  double scale_s = 1;
  std::string kind;
};

Series numbers_as(const Slot& slot, double scale_s, std::string kind) {
  Series series{{}, 0, scale_s, std::move(kind)};
  for (const auto& cell : slot.cells) {
    auto& at = series.seconds.emplace_back();
    if (!cell || !cell->number) continue;
    const double seconds = *cell->number * scale_s;
    if (seconds < kFirstTime || seconds > kLastTime) continue;
    at = seconds;
    ++series.count;
  }
  return series;
}

Series texts_of(const Slot& slot) {
  Series series{{}, 0, 1, "as RFC 3339 writes it"};
  for (const auto& cell : slot.cells) {
    auto& at = series.seconds.emplace_back();
    const auto time = cell ? parse_rfc3339(cell->text) : std::nullopt;
    if (!time) continue;
    at = static_cast<double>(time->ns) / kPerSecond;
    ++series.count;
  }
  return series;
}

std::size_t backwards(const Series& series) {
  std::size_t count = 0;
  std::optional<double> last;
  for (const auto& seconds : series.seconds) {
    if (!seconds) continue;
    if (last && *seconds < *last - 1) ++count;
    last = seconds;
  }
  return count;
}

/// The largest distance from the times of arrival, nothing where these aren't known.
std::optional<double> from_arrival(const SlotTable& table, const Series& series) {
  std::optional<double> most;
  for (std::size_t i = 0; i < series.seconds.size(); ++i) {
    if (!series.seconds[i] || !table.at[i]) continue;
    const double apart =
        std::fabs(static_cast<double>(table.at[i]->ns) / kPerSecond - *series.seconds[i]);
    most = std::max(most.value_or(0), apart);
  }
  return most;
}

TimeSlot judge(const SlotTable& table, std::size_t slot, const Series& series) {
  TimeSlot time{slot, series.scale_s, series.kind, backwards(series), Sureness::guess, {}};
  const auto apart = from_arrival(table, series);
  constexpr double kCloseBy = 60;  // s
  constexpr std::size_t kSeveral = 10;
  if (apart && *apart <= kCloseBy) {
    time.sureness = series.count >= kSeveral ? Sureness::certain : Sureness::likely;
    time.reason =
        fmt::format("at most {:.0f} s from the arrival in {} reports", *apart, series.count);
  } else {
    time.sureness = series.count >= kSeveral ? Sureness::likely : Sureness::guess;
    time.reason =
        fmt::format("it rises through {} reports, but for {}", series.count, time.backwards);
  }
  return time;
}

}  // namespace

bool looks_like_time(std::string_view text) {
  constexpr auto kShapes = std::to_array<std::string_view>(
      {"0000-00-00", "0000/00/00", "00.00.0000", "00/00/0000", "00:00:00", "00:00"});
  return std::any_of(kShapes.begin(), kShapes.end(),
                     [&](std::string_view shape) { return begins_as(text, shape); });
}

TimeSearch find_times(const SlotTable& table, const std::vector<bool>& taken,
                      const NodeNumbers& nodes) {
  TimeSearch search;
  for (std::size_t i = 0; i < table.slots.size(); ++i) {
    if (taken[i]) continue;
    const Slot& slot = table.slots[i];
    const auto there = static_cast<std::size_t>(std::count_if(
        slot.cells.begin(), slot.cells.end(), [](const auto& cell) { return cell.has_value(); }));
    if (there == 0) continue;
    Series best = texts_of(slot);
    for (Series& other : std::array{numbers_as(slot, 1, "in seconds since 1970"),
                                    numbers_as(slot, 0.001, "in milliseconds since 1970"),
                                    numbers_as(slot, 1e-6, "in microseconds since 1970")}) {
      if (other.count > best.count) best = std::move(other);
    }
    if (10 * best.count < 8 * there) {
      const auto times = std::count_if(slot.cells.begin(), slot.cells.end(), [](const auto& cell) {
        return cell && looks_like_time(cell->text);
      });
      if (10 * static_cast<std::size_t>(times) >= 8 * there) search.unusable.push_back(i);
      continue;
    }
    TimeSlot time = judge(table, i, best);
    constexpr std::size_t kFewBackwards = 20;  // one in so many: restarts, and clocks that were set
    const bool is_one_clock =
        nodes.names.size() < 2 || time.backwards * kFewBackwards <= best.count;
    // What only some of the nodes send would be mixed with the arrivals of the others.
    const bool nearly_all_have_it = 10 * best.count >= 8 * table.reports();
    const bool is_usable = is_one_clock && nearly_all_have_it;
    if (!is_usable && time.sureness != Sureness::certain) {
      search.disagreeing.push_back(std::move(time));
    } else if (!search.best || time.sureness < search.best->sureness) {
      search.best = std::move(time);
    }
  }
  return search;
}

}  // namespace fieldfare::learn
