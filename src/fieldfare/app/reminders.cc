// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/reminders.h"

#include <algorithm>
#include <string_view>

namespace fieldfare::app {
namespace {

constexpr std::string_view kAsked = "reminder";
constexpr std::string_view kTold = "reminded";

store::Outcome record(store::Store& store, const fleet::Labels& labels, std::string_view what,
                      const KeptReminder& reminder) {
  store::RosterEvent event;
  event.at = reminder.due;
  event.who = "at the desk";
  event.what = what;
  event.after = reminder.about;
  event.why = reminder.what;
  const auto recorded = store.record_event(event, labels);
  if (!recorded) return Failure{recorded.error()};
  return store::Done{};
}

bool is_of(const store::RosterEvent& event, const KeptReminder& reminder) {
  return event.at == reminder.due && event.after == reminder.about && event.why == reminder.what;
}

}  // namespace

store::Outcome keep_reminder(store::Store& store, const fleet::Labels& labels,
                             const KeptReminder& reminder) {
  return record(store, labels, kAsked, reminder);
}

store::Outcome close_reminder(store::Store& store, const fleet::Labels& labels,
                              const KeptReminder& reminder) {
  return record(store, labels, kTold, reminder);
}

Result<std::vector<KeptReminder>, Complaint> open_reminders(store::Store& store,
                                                            fleet::Labels& labels) {
  const auto history = store.roster_history(labels);
  if (!history) return Failure{history.error()};
  std::vector<KeptReminder> open;
  for (const store::RosterEvent& event : *history) {
    if (event.what == kAsked) open.push_back({event.at, event.after.value_or(""), event.why});
    if (event.what != kTold) continue;
    const auto told = std::find_if(open.begin(), open.end(),
                                   [&](const KeptReminder& one) { return is_of(event, one); });
    if (told != open.end()) open.erase(told);
  }
  std::stable_sort(open.begin(), open.end(),
                   [](const auto& a, const auto& b) { return a.due < b.due; });
  return open;
}

}  // namespace fieldfare::app
