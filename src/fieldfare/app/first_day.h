// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/app/site_facts.h"
#include "fieldfare/fleet/hearing.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/fleet/site.h"
#include "fieldfare/judge/first_day.h"
#include "fieldfare/store/store.h"

// A first day at a desk as the store of a site keeps it.
namespace fieldfare::app {

/// What the history calls it that somebody provoked a report; its `after` are the
/// label's digits, its time is when it was said.
inline constexpr std::string_view kProvokedEvent = "provoked";

/// Hearings of a site's store beyond this many belong to no first day.
inline constexpr std::int64_t kMostFirstArrivals = 50'000;

judge::FirstReport first_report(const fleet::Hearing& hearing, const fleet::Labels& labels);
/// `sheet` may be null.
judge::FirstTerms first_terms(const fleet::NodeSheet* sheet);

/// The address as hex, or the name of a node without one: what a first day calls it.
std::string first_name(const fleet::NodeLabel& label);

/// The first day that is stored; nothing where nobody ever provoked a report: a site
/// that didn't begin at a desk is judged by what it hears alone. `labels` hold the roster.
Result<std::optional<judge::FirstDay>, Complaint> stored_first_day(store::Store& store,
                                                                   fleet::Labels& labels,
                                                                   const SiteFacts& facts,
                                                                   const fleet::Site& site);

/// Up to when the sources of a store were listened to, as far as it knows; else the
/// last report of the day.
Instant end_of_listening(const std::vector<store::Listening>& listening,
                         const judge::FirstDay& day);

/// The reports that somebody caused by hand, by node.
using ProvokedTimes = std::map<fleet::NodeIndex, std::vector<Instant>>;
ProvokedTimes provoked_times(const judge::FirstDay& day, Instant now, fleet::Labels& labels);

/// Adds what a first day shows to the verdicts of the nodes that it is about. Where
/// both judge a claim the worse outcome stands; identity, counter, reading and settings are
/// the first day's.
void add_first_day(judge::FleetVerdict& verdict, const std::vector<judge::FirstVerdict>& first,
                   const fleet::Labels& labels, const fleet::Site& site);

}  // namespace fieldfare::app
