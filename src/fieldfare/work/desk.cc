// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/work/desk.h"

#include <algorithm>
#include <iterator>
#include <limits>
#include <tuple>
#include <utility>

#include "fieldfare/work/internal/desk_advice.h"
#include "fieldfare/work/internal/desk_rows.h"

namespace fieldfare::work {
namespace {

using judge::FirstReport;

constexpr std::int64_t kSecondNs = 1'000'000'000;
/// Receivers and brokers hand on the same report with some seconds between; nodes
/// rarely speak as often, and then with another number.
constexpr Duration kSameNumber{3 * kSecondNs};
constexpr Duration kSameReadings{kSecondNs};
/// What is as far away is of no day at this desk; keeps differences in range.
constexpr Duration kFarAway{3650LL * 24 * 3600 * kSecondNs};
constexpr std::size_t kMostDigits = 16;

std::string cut(std::string_view text, std::size_t longest) {
  if (text.size() <= longest) return std::string{text};
  std::size_t size = longest;
  // Octets 10xxxxxx go on a character (RFC 3629).
  while (size > 0 && (static_cast<unsigned char>(text[size]) & 0xC0U) == 0x80U) --size;
  return std::string{text.substr(0, size)};
}

/// Upper-case hex without separators; nothing for anything else.
std::optional<std::string> digits_of(std::string_view typed) {
  std::string digits;
  for (const char c : typed) {
    if (c == ':' || c == '-' || c == ' ' || c == '.') continue;
    const bool is_small = c >= 'a' && c <= 'f';
    const bool is_digit = is_small || (c >= '0' && c <= '9') || (c >= 'A' && c <= 'F');
    if (!is_digit) return std::nullopt;
    if (digits.size() == kMostDigits) return std::nullopt;
    digits += is_small ? static_cast<char>(c - 'a' + 'A') : c;
  }
  if (digits.empty()) return std::nullopt;
  return digits;
}

Duration apart(Instant a, Instant b) { return a > b ? a - b : b - a; }

bool is_same(const FirstReport& a, const FirstReport& b) {
  if (a.sequence || b.sequence) {
    return a.sequence == b.sequence && apart(a.at, b.at) <= kSameNumber;
  }
  return a.readings == b.readings && apart(a.at, b.at) <= kSameReadings;
}

/// The better heard of two hearings of a report, at the earlier time.
void merge(FirstReport& report, FirstReport&& other) {
  const Instant at = std::min(report.at, other.at);
  constexpr double kUnknown = -std::numeric_limits<double>::infinity();
  const bool is_better = std::pair{!other.implausible, other.rssi_dbm.value_or(kUnknown)} >
                         std::pair{!report.implausible, report.rssi_dbm.value_or(kUnknown)};
  if (is_better) report = std::move(other);
  report.at = at;
}

void bound(FirstReport& report) {
  if (report.readings.size() > kMostReadings) report.readings.resize(kMostReadings);
  for (judge::NamedValue& reading : report.readings) {
    if (reading.name.size() > kLongestName) reading.name = cut(reading.name, kLongestName);
  }
}

/// True where the report was new, whether it is kept or too old for that.
bool insert(std::vector<FirstReport>& reports, FirstReport&& report) {
  const auto earlier = [](const FirstReport& a, const FirstReport& b) { return a.at < b.at; };
  const auto place = std::upper_bound(reports.begin(), reports.end(), report, earlier);
  for (auto near = place; near != reports.begin();) {
    --near;
    if (apart(near->at, report.at) > kSameNumber) break;
    if (is_same(*near, report)) return merge(*near, std::move(report)), false;
  }
  for (auto near = place; near != reports.end(); ++near) {
    if (apart(near->at, report.at) > kSameNumber) break;
    if (!is_same(*near, report)) continue;
    merge(*near, std::move(report));
    // It may have become earlier than others.
    std::stable_sort(reports.begin(), std::next(near), earlier);
    return false;
  }
  if (reports.size() < judge::kMostFirstReports) {
    reports.insert(place, std::move(report));
  } else if (place != reports.begin()) {
    std::move(std::next(reports.begin()), place, reports.begin());
    *std::prev(place) = std::move(report);
  }
  return true;
}

}  // namespace

Desk::Desk(Instant since) : since_{since} {}

void Desk::forget_heard() {
  day_.nodes.clear();
  index_.clear();
  reports_.clear();
  // The order in which nodes came up stays, unless it is full of what was misread.
  if (came_up_.size() > kMostNodes) {
    std::erase_if(came_up_, [](const auto& entry) { return !entry.first.starts_with("label "); });
  }
}

void Desk::set_terms(judge::FirstTerms terms) { terms_ = std::move(terms); }

void Desk::set_network(std::optional<std::uint64_t> network) { day_.network = network; }

void Desk::come_up(const std::string& key) {
  if (came_up_.size() > 2 * kMostNodes) return;
  if (came_up_.try_emplace(key, coming_up_).second) ++coming_up_;
}

std::optional<std::size_t> Desk::node_of(std::string_view address) {
  std::string name = cut(address, kLongestName);
  if (const auto known = index_.find(name); known != index_.end()) return known->second;
  if (day_.nodes.size() >= kMostNodes) return std::nullopt;
  const std::size_t index = day_.nodes.size();
  come_up(name);
  day_.nodes.push_back({name, {}, {}});
  reports_.push_back(0);
  index_.emplace(std::move(name), index);
  return index;
}

void Desk::heard(std::string_view address, FirstReport report) {
  if (report.at < since_ - kFarAway || report.at > since_ + kFarAway) return;
  const auto index = node_of(address);
  if (!index) return;
  bound(report);
  judge::FirstNode& node = day_.nodes[*index];
  node.terms = terms_;
  if (insert(node.reports, std::move(report))) ++reports_[*index];
}

bool Desk::label(std::string_view digits) {
  const auto plain = digits_of(digits);
  if (!plain) return false;
  const auto known = std::find(day_.labels.begin(), day_.labels.end(), *plain);
  if (known != day_.labels.end()) return true;
  if (day_.labels.size() >= kMostLabels) return false;
  come_up(internal::label_key(*plain));
  day_.labels.push_back(*plain);
  return true;
}

bool Desk::provoke(std::string_view digits, Instant now) {
  if (now < since_ - kFarAway || now > since_ + kFarAway || !label(digits)) return false;
  judge::Provocation provocation{*digits_of(digits), now};
  auto& all = day_.provocations;
  const auto place =
      std::upper_bound(all.begin(), all.end(), provocation, [](const auto& a, const auto& b) {
        return std::tie(a.said, a.digits) < std::tie(b.said, b.digits);
      });
  all.insert(place, std::move(provocation));
  if (all.size() > kMostProvocations) all.erase(all.begin());
  return true;
}

Spoken* Desk::spoken_of(std::string_view key) {
  const std::string known = cut(key, kLongestName);
  const auto found = spoken_.find(known);
  if (found != spoken_.end()) return &found->second;
  if (spoken_.size() >= kMostNodes + kMostLabels) return nullptr;
  Spoken& spoken = spoken_[known];
  return &spoken;
}

void Desk::name(std::string_view key, std::string_view name) {
  if (Spoken* spoken = spoken_of(key)) spoken->name = cut(name, kLongestName);
}

void Desk::note(std::string_view key, std::string_view note) {
  if (Spoken* spoken = spoken_of(key)) spoken->note = cut(note, kLongestNote);
}

void Desk::remind(Reminder reminder) {
  reminder.node = cut(reminder.node, kLongestName);
  reminder.what = cut(reminder.what, kLongestNote);
  std::erase_if(reminders_, [&](const Reminder& known) {
    return known.node == reminder.node && known.what == reminder.what;
  });
  if (reminders_.size() >= kMostReminders) {
    std::erase_if(reminders_, [](const Reminder& known) { return known.told; });
  }
  if (reminders_.size() >= kMostReminders) return;
  const auto place =
      std::upper_bound(reminders_.begin(), reminders_.end(), reminder,
                       [](const Reminder& a, const Reminder& b) { return a.due < b.due; });
  reminders_.insert(place, std::move(reminder));
}

std::vector<Reminder> Desk::take_due(Instant now) {
  std::vector<Reminder> due;
  for (Reminder& reminder : reminders_) {
    if (reminder.told || reminder.due > now) continue;
    reminder.told = true;
    due.push_back(reminder);
  }
  return due;
}

void Desk::set_sources(std::vector<DeskSource> sources) { sources_ = std::move(sources); }

void Desk::set_frames(DeskFrames frames) { frames_ = std::move(frames); }

DeskView Desk::view(Instant now) const {
  DeskView view;
  view.now = now;
  view.since = since_;
  view.rows = internal::rows_of(
      {.day = day_, .reports = reports_, .came_up = came_up_, .spoken = spoken_}, now);
  view.sources = sources_;
  view.frames = frames_;
  view.reminders = reminders_;
  view.advice = internal::advice_of(view);
  return view;
}

}  // namespace fieldfare::work
