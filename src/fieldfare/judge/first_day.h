// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/sheet.h"
#include "fieldfare/judge/judge.h"
#include "fieldfare/judge/verdict.h"

// The first verdict: what two or three reports of a node on a desk can show, and
// what takes hours. Pure; a live desk and a stored one are judged by the same.
namespace fieldfare::judge {

struct NamedValue {
  std::string name;  ///< ends in its unit
  double value = 0;

  bool operator==(const NamedValue&) const = default;
};

/// What a reading is called that holds the number of the node's network (PAN ID).
inline constexpr std::string_view kNetworkReading = "network";

/// A report of the first day, as the receiver that heard it best took it.
struct FirstReport {
  Instant at;
  std::optional<std::uint64_t> sequence;
  std::optional<double> rssi_dbm;
  std::optional<double> snr_db;
  std::optional<double> supply_v;
  std::vector<NamedValue> readings;
  bool implausible = false;
};

/// Somebody said that he provokes a report now (presses the button, restarts the
/// node), of the node whose label ends in these digits.
struct Provocation {
  std::string digits;  ///< upper-case hex
  Instant said;
};

/// A report is taken for the provoked one if it comes from so long before it was
/// said up to so long after.
inline constexpr Duration kProvokedBefore{30LL * 1'000'000'000};
inline constexpr Duration kProvokedAfter{120LL * 1'000'000'000};

/// What is known of a node's kind. Absent facts leave out what hangs on them.
struct FirstTerms {
  std::optional<int> sequence_bits;
  std::optional<std::uint64_t> starts_at;  ///< of the counter after a restart
  std::optional<double> sensitivity_dbm;
  std::optional<double> overload_dbm;
  std::optional<Duration> interval;  ///< absent: as the reports show
  std::vector<fleet::FieldFacts> fields;
};

/// A node that was heard.
struct FirstNode {
  std::string address;               ///< upper-case hex, or its name where it has none
  std::vector<FirstReport> reports;  ///< by time, each once; at most kMostFirstReports, the newest
  FirstTerms terms;
};
inline constexpr std::size_t kMostFirstReports = 512;

/// All that a first day has shown so far.
struct FirstDay {
  std::vector<FirstNode> nodes;
  std::vector<std::string> labels;        ///< digits that somebody typed of labels
  std::vector<Provocation> provocations;  ///< by time
  std::optional<std::uint64_t> network;   ///< the site's; absent: what most nodes have
  ProofTerms proof;
};

/// How a provocation came out.
struct ProvokedOutcome {
  std::size_t provocation = 0;      ///< index in FirstDay::provocations
  std::optional<std::size_t> node;  ///< whose report answered it
  std::optional<Instant> at;        ///< that report's time
  bool is_over = false;             ///< no answer is waited for any more
};

struct FirstVerdict {
  std::string digits;             ///< of the label; empty: none was typed that fits this node
  std::string address;            ///< empty: nothing was heard under this label
  std::vector<Verdict> verdicts;  ///< identity, counter, reading, margin, settings, delivery, as
                                  ///< far as there is a basis
  bool works = false;             ///< all that a desk can show is met
  bool failed = false;            ///< something failed
  std::string headline;           ///< `works`, `not heard`, `too close`, at most 24 characters
  std::string next;               ///< one sentence: what to do now; empty: nothing
  std::optional<Instant> delivery_at;  ///< when delivery can be met, if no more is lost than so far
};

/// Which reports answered which provocations. A report answers one that fits its
/// address; where none does, and it begins a counter anew or a node's history, it
/// answers one whose own node stays mute: that label is then on another case.
std::vector<ProvokedOutcome> match_provocations(const FirstDay& day, Instant now);

/// One verdict for every node that was heard, in the order of the day's nodes, and
/// then one for every label of which nothing was heard, in their order.
std::vector<FirstVerdict> judge_first_day(const FirstDay& day, Instant now);

/// The nodes whose address ends in these digits (hex, any case), by index.
std::vector<std::size_t> nodes_ending_in(std::span<const FirstNode> nodes, std::string_view digits);

}  // namespace fieldfare::judge
