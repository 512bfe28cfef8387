// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <vector>

#include "fieldfare/fleet/labels.h"
#include "fieldfare/store/store.h"

// What somebody wants to be told later, in the history of a site.
namespace fieldfare::app {

struct KeptReminder {
  Instant due;
  std::string about;  ///< address or label of a node
  std::string what;
};

/// Adds it to the history.
store::Outcome keep_reminder(store::Store& store, const fleet::Labels& labels,
                             const KeptReminder& reminder);

/// Those that were not told yet, by the time they are due.
Result<std::vector<KeptReminder>, Complaint> open_reminders(store::Store& store,
                                                            fleet::Labels& labels);

/// It was told: into the history.
store::Outcome close_reminder(store::Store& store, const fleet::Labels& labels,
                              const KeptReminder& reminder);

}  // namespace fieldfare::app
