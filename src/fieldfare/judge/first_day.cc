// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/judge/first_day.h"

#include <algorithm>
#include <array>
#include <map>
#include <span>
#include <utility>

#include "fieldfare/judge/first_judgement.h"
#include "fieldfare/judge/internal/first_claims.h"
#include "fieldfare/judge/internal/first_identity.h"
#include "fieldfare/judge/internal/provoked.h"
#include "fieldfare/judge/suffixes.h"

namespace fieldfare::judge {
namespace {

using internal::Finding;

/// The number that more nodes are set to than any other, two of them at least;
/// nodes with a label count alone where there are two: the rest may be neighbours'.
std::optional<std::uint64_t> usual_network(const FirstDay& day,
                                           const internal::Identities& identities) {
  std::map<std::uint64_t, std::size_t> all;
  std::map<std::uint64_t, std::size_t> labelled;
  std::size_t labels = 0;
  for (std::size_t i = 0; i < day.nodes.size(); ++i) {
    const auto network = internal::network_of(day.nodes[i]);
    if (!network) continue;
    ++all[*network];
    if (identities.label_of(i) == nullptr) continue;
    ++labelled[*network];
    ++labels;
  }
  std::optional<std::uint64_t> usual;
  std::size_t most = 1;
  for (const auto& [network, nodes] : labels >= 2 ? labelled : all) {
    if (nodes == most) usual.reset();
    if (nodes <= most) continue;
    most = nodes;
    usual = network;
  }
  return usual;
}

/// In the order in which a person should hear of what failed, and then of what is open.
constexpr std::array kFailedFirst{Claim::settings, Claim::identity, Claim::margin, Claim::counter,
                                  Claim::reading};
constexpr std::array kOpenFirst{Claim::identity, Claim::counter, Claim::reading, Claim::margin,
                                Claim::settings};

const Finding* first_of(const std::vector<Finding>& findings, Outcome outcome,
                        std::span<const Claim> order) {
  for (const Claim claim : order) {
    for (const Finding& finding : findings) {
      if (finding.verdict.claim == claim && finding.verdict.outcome == outcome) return &finding;
    }
  }
  return nullptr;
}

void conclude(FirstVerdict& verdict, const std::vector<Finding>& findings) {
  for (const Finding& finding : findings) verdict.verdicts.push_back(finding.verdict);
  const Finding* worst = first_of(findings, Outcome::failed, kFailedFirst);
  verdict.failed = worst != nullptr;
  if (worst == nullptr) worst = first_of(findings, Outcome::open, kOpenFirst);
  verdict.works = worst == nullptr;
  verdict.headline = worst != nullptr ? worst->headline : "works";
  if (worst != nullptr) verdict.next = worst->next;
}

bool has_readings(const FirstNode& node) {
  return std::any_of(node.reports.begin(), node.reports.end(),
                     [](const FirstReport& report) { return !report.readings.empty(); });
}

/// What all nodes are judged with.
struct Bench {
  const FirstDay& day;
  Instant now;
  const internal::Identities& identities;
  std::optional<std::uint64_t> network;
};

FirstVerdict judge_node(const Bench& bench, std::size_t index, const internal::SeenNode& seen) {
  FirstVerdict verdict;
  verdict.address = seen.node.address;
  if (const internal::Label* label = bench.identities.label_of(index)) {
    verdict.digits = label->digits;
  }
  std::vector<Finding> findings{bench.identities.judge_node(index)};
  const auto take = [&findings](std::optional<Finding> finding) {
    if (finding) findings.push_back(std::move(*finding));
  };
  take(internal::judge_counter(seen));
  take(internal::judge_reading(seen.node));
  take(internal::judge_margin(seen, bench.day.proof));
  take(internal::judge_settings(seen.node, bench.network));
  conclude(verdict, findings);
  if (verdict.works && !has_readings(seen.node)) {
    verdict.next = "its readings are not decoded yet: they were not judged";
  }
  if (auto delivery = internal::judge_delivery(seen, bench.day.proof, bench.now)) {
    verdict.verdicts.push_back(std::move(delivery->verdict));
    verdict.delivery_at = delivery->at;
  }
  return verdict;
}

std::vector<std::vector<bool>> provoked_reports(const FirstDay& day,
                                                std::span<const internal::Answer> answers) {
  std::vector<std::vector<bool>> provoked;
  provoked.reserve(day.nodes.size());
  for (const FirstNode& node : day.nodes) provoked.emplace_back(node.reports.size());
  for (const internal::Answer& answer : answers) {
    if (answer.node) provoked[*answer.node][answer.report] = true;
  }
  return provoked;
}

std::vector<ProvokedOutcome> outcomes_of(const FirstDay& day,
                                         std::span<const internal::Answer> answers) {
  std::vector<ProvokedOutcome> outcomes(answers.size());
  for (std::size_t i = 0; i < answers.size(); ++i) {
    outcomes[i].provocation = i;
    outcomes[i].is_over = answers[i].is_over;
    if (!answers[i].node || !answers[i].is_certain) continue;
    outcomes[i].node = answers[i].node;
    outcomes[i].at = day.nodes[*answers[i].node].reports[answers[i].report].at;
  }
  return outcomes;
}

}  // namespace

FirstJudgement judge_whole_first_day(const FirstDay& day, Instant now) {
  FirstJudgement judgement;
  judgement.beats = first_beats(day);
  const Suffixes suffixes{day.nodes};
  const std::vector<internal::Answer> answers =
      internal::answers({.day = day, .beats = judgement.beats, .suffixes = suffixes}, now);
  judgement.outcomes = outcomes_of(day, answers);
  const internal::Identities identities{day, answers, internal::labels_of(day, suffixes)};
  const Bench bench{day, now, identities,
                    day.network ? day.network : usual_network(day, identities)};
  std::vector<std::vector<bool>> provoked = provoked_reports(day, answers);
  for (std::size_t i = 0; i < day.nodes.size(); ++i) {
    judgement.verdicts.push_back(
        judge_node(bench, i, {day.nodes[i], judgement.beats[i], std::move(provoked[i])}));
  }
  for (const internal::Label& label : identities.labels()) {
    if (!label.fits.empty()) continue;
    FirstVerdict verdict;
    verdict.digits = label.digits;
    conclude(verdict, {identities.judge_unheard(label)});
    judgement.verdicts.push_back(std::move(verdict));
  }
  return judgement;
}

std::vector<ProvokedOutcome> match_provocations(const FirstDay& day, Instant now) {
  const std::vector<FirstBeat> beats = first_beats(day);
  const Suffixes suffixes{day.nodes};
  return outcomes_of(day,
                     internal::answers({.day = day, .beats = beats, .suffixes = suffixes}, now));
}

std::vector<FirstVerdict> judge_first_day(const FirstDay& day, Instant now) {
  return judge_whole_first_day(day, now).verdicts;
}

std::vector<std::size_t> nodes_ending_in(std::span<const FirstNode> nodes,
                                         std::string_view digits) {
  return Suffixes{nodes}.ending_in(digits);
}

}  // namespace fieldfare::judge
