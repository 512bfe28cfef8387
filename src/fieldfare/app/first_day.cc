// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/first_day.h"

#include <algorithm>
#include <map>
#include <set>
#include <utility>

namespace fieldfare::app {
namespace {

/// The roster's labels, and those somebody spoke of when he provoked.
std::vector<std::string> labels_of(const fleet::Site& site,
                                   const std::vector<judge::Provocation>& provocations) {
  std::vector<std::string> labels;
  const auto add = [&](const std::string& digits) {
    if (!digits.empty() && std::find(labels.begin(), labels.end(), digits) == labels.end()) {
      labels.push_back(digits);
    }
  };
  for (const fleet::Node& node : site.nodes) add(node.label);
  for (const judge::Provocation& provocation : provocations) add(provocation.digits);
  return labels;
}

Result<std::vector<judge::Provocation>, Complaint> provocations_of(store::Store& store,
                                                                   fleet::Labels& labels) {
  const auto history = store.roster_history(labels);
  if (!history) return Failure{history.error()};
  std::vector<judge::Provocation> provocations;
  for (const store::RosterEvent& event : *history) {
    if (event.what == kProvokedEvent && event.after)
      provocations.push_back({*event.after, event.at});
  }
  std::stable_sort(provocations.begin(), provocations.end(),
                   [](const auto& a, const auto& b) { return a.said < b.said; });
  return provocations;
}

/// Collects the reports of each node, the same one through several receivers once.
class Collector {
 public:
  explicit Collector(const fleet::Labels& labels) : labels_{labels} {}

  void add(const fleet::Hearing& hearing) {
    std::vector<judge::FirstReport>& reports = reports_[hearing.node];
    judge::FirstReport report = first_report(hearing, labels_);
    const auto known = std::find_if(reports.rbegin(), reports.rend(),
                                    [&](const auto& other) { return is_same(other, report); });
    if (known == reports.rend()) {
      reports.push_back(std::move(report));
    } else if (report.rssi_dbm > known->rssi_dbm) {
      *known = std::move(report);
    }
  }

  std::vector<judge::FirstNode> nodes(const SiteFacts& facts, const fleet::Site& site) {
    std::vector<judge::FirstNode> nodes;
    for (auto& [index, reports] : reports_) {
      const auto at = static_cast<std::size_t>(index);
      const fleet::NodeSheet* sheet =
          at < site.nodes.size() ? fleet::sheet_of(site, site.nodes[at]) : nullptr;
      std::stable_sort(reports.begin(), reports.end(),
                       [](const auto& a, const auto& b) { return a.at < b.at; });
      if (reports.size() > judge::kMostFirstReports) {
        reports.erase(reports.begin(), reports.end() - judge::kMostFirstReports);
      }
      judge::FirstTerms terms = first_terms(sheet);
      const judge::NodeTerms of_site = facts.terms(index);
      terms.sensitivity_dbm = of_site.sensitivity_dbm;
      terms.overload_dbm = of_site.overload_dbm;
      nodes.push_back({first_name(labels_.label(index)), std::move(reports), std::move(terms)});
    }
    return nodes;
  }

 private:
  static bool is_same(const judge::FirstReport& a, const judge::FirstReport& b) {
    constexpr Duration kApart{5'000'000'000};
    const Duration apart = a.at < b.at ? b.at - a.at : a.at - b.at;
    return a.sequence && a.sequence == b.sequence && apart < kApart;
  }

  const fleet::Labels& labels_;
  std::map<fleet::NodeIndex, std::vector<judge::FirstReport>> reports_;
};

/// Claims that hearings over weeks can't show: a first day alone judges them.
bool is_of_first_day(judge::Claim claim) {
  return claim == judge::Claim::identity || claim == judge::Claim::counter ||
         claim == judge::Claim::reading || claim == judge::Claim::settings;
}

judge::NodeVerdict* find_node(judge::FleetVerdict& verdict, const judge::FirstVerdict& of_desk,
                              const fleet::Labels& labels, const fleet::Site& site) {
  const auto found =
      std::find_if(verdict.nodes.begin(), verdict.nodes.end(), [&](const auto& node) {
        const fleet::NodeIndex index = node.evidence.node;
        if (!of_desk.address.empty()) return first_name(labels.label(index)) == of_desk.address;
        const auto at = static_cast<std::size_t>(index);
        return at < site.nodes.size() && site.nodes[at].label == of_desk.digits;
      });
  return found == verdict.nodes.end() ? nullptr : &*found;
}

/// In place of what was judged of this claim, or where it is worse.
void take_claim(judge::NodeVerdict& node, const judge::Verdict& shown, bool in_any_case) {
  const auto known = std::find_if(node.verdicts.begin(), node.verdicts.end(),
                                  [&](const auto& other) { return other.claim == shown.claim; });
  if (known == node.verdicts.end()) {
    node.verdicts.push_back(shown);
  } else if (in_any_case || shown.outcome > known->outcome) {
    *known = shown;
  }
}

}  // namespace

judge::FirstReport first_report(const fleet::Hearing& hearing, const fleet::Labels& labels) {
  judge::FirstReport report;
  report.at = hearing.time;
  report.sequence = hearing.sequence;
  report.rssi_dbm = hearing.rssi_dbm;
  report.snr_db = hearing.snr_db;
  report.supply_v = hearing.supply_v;
  report.implausible = hearing.implausible;
  for (const fleet::Reading& reading : hearing.readings) {
    report.readings.push_back({labels.field_name(reading.field), reading.value});
  }
  return report;
}

judge::FirstTerms first_terms(const fleet::NodeSheet* sheet) {
  judge::FirstTerms terms;
  if (sheet == nullptr) return terms;
  terms.sequence_bits = sheet->sequence.bits;
  terms.starts_at = sheet->sequence.starts_at;
  terms.sensitivity_dbm = sheet->radio.sensitivity_dbm;
  terms.overload_dbm = sheet->radio.overload_dbm;
  terms.fields = sheet->fields;
  return terms;
}

std::string first_name(const fleet::NodeLabel& label) {
  return label.address ? label.address->text() : label.name;
}

Result<std::optional<judge::FirstDay>, Complaint> stored_first_day(store::Store& store,
                                                                   fleet::Labels& labels,
                                                                   const SiteFacts& facts,
                                                                   const fleet::Site& site) {
  auto provocations = provocations_of(store, labels);
  if (!provocations) return Failure{provocations.error()};
  if (provocations->empty()) return std::optional<judge::FirstDay>{};
  judge::FirstDay day;
  day.labels = labels_of(site, *provocations);
  day.provocations = std::move(*provocations);
  if (site.pan_id) day.network = *site.pan_id;
  day.proof = facts.proof();

  Collector collector{labels};
  const store::Scan scan{.up_to_arrival = kMostFirstArrivals, .with_readings = true};
  const auto scanned = store.scan(
      scan, labels, [&](const store::StoredHearing& stored) { collector.add(stored.hearing); });
  if (!scanned) return Failure{scanned.error()};
  day.nodes = collector.nodes(facts, site);
  return std::optional{std::move(day)};
}

Instant end_of_listening(const std::vector<store::Listening>& listening,
                         const judge::FirstDay& day) {
  Instant end{};
  for (const store::Listening& stretch : listening) end = std::max(end, stretch.to);
  if (!listening.empty()) return end;
  for (const judge::FirstNode& node : day.nodes) {
    if (!node.reports.empty()) end = std::max(end, node.reports.back().at);
  }
  return end;
}

ProvokedTimes provoked_times(const judge::FirstDay& day, Instant now, fleet::Labels& labels) {
  ProvokedTimes times;
  for (const judge::ProvokedOutcome& outcome : judge::match_provocations(day, now)) {
    if (!outcome.node || !outcome.at) continue;
    if (const auto node = labels.node(day.nodes[*outcome.node].address)) {
      times[*node].push_back(*outcome.at);
    }
  }
  return times;
}

void add_first_day(judge::FleetVerdict& verdict, const std::vector<judge::FirstVerdict>& first,
                   const fleet::Labels& labels, const fleet::Site& site) {
  std::set<std::pair<fleet::NodeIndex, judge::Claim>> replaced;
  for (const judge::FirstVerdict& of_desk : first) {
    judge::NodeVerdict* node = find_node(verdict, of_desk, labels, site);
    if (node == nullptr) continue;
    const judge::Outcome before = node->worst();
    for (const judge::Verdict& shown : of_desk.verdicts) {
      const bool is_first = replaced.insert({node->evidence.node, shown.claim}).second;
      take_claim(*node, shown, is_first && is_of_first_day(shown.claim));
    }
    const judge::Outcome now = node->worst();
    if (now == judge::Outcome::met) node->advice.reset();
    if (!of_desk.next.empty() && (of_desk.failed || !node->advice || now > before)) {
      node->advice = of_desk.next;
    }
  }
}

}  // namespace fieldfare::app
