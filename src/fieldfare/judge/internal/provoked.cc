// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/judge/internal/provoked.h"

#include <algorithm>
#include <iterator>
#include <limits>
#include <map>
#include <set>
#include <string>
#include <tuple>
#include <utility>

namespace fieldfare::judge::internal {
namespace {

/// The same said again within that is a key pressed twice.
constexpr Duration kSaidTwice{10LL * 1'000'000'000};
/// More nodes than that which begin anew at once tell nothing about a label.
constexpr std::size_t kMostStrangers = 16;

/// A report that may have answered a provocation.
struct Candidate {
  std::size_t provocation;
  std::size_t node;
  std::size_t report;
  Sign sign;
  std::int64_t distance_ns;

  auto rank() const { return std::tuple{sign, distance_ns, provocation, node, report}; }
};

using ReportKey = std::pair<std::size_t, std::size_t>;  // node, report

class Matcher {
 public:
  Matcher(const Matching& matching, Instant now)
      : day_{matching.day},
        beats_{matching.beats},
        suffixes_{matching.suffixes},
        now_{now},
        signs_{signs_of(day_, beats_)},
        unasked_{unasked_signs(day_, signs_)},
        answers_(day_.provocations.size()),
        own_said_(day_.nodes.size()) {}

  std::vector<Answer> run() {
    note_times();
    match_own();
    match_only_asked();
    match_strangers();
    match_maybe();
    for (Answer& answer : answers_) answer.is_over |= answer.node && answer.is_certain;
    return std::move(answers_);
  }

 private:
  const Provocation& provocation(std::size_t i) const { return day_.provocations[i]; }

  /// By digits, in time: what was said again is over, and what was said twice is one.
  void note_times() {
    for (std::size_t i = 0; i < day_.provocations.size(); ++i) {
      by_digits_[provocation(i).digits].push_back(i);
      answers_[i].is_over = now_ >= provocation(i).said + kProvokedAfter;
      answers_[i].counts = true;
      for (const std::size_t node : suffixes_.ending_in(provocation(i).digits)) {
        own_said_[node].push_back(provocation(i).said);
      }
    }
    for (const auto& [digits, indices] : by_digits_) {
      for (std::size_t i = 0; i + 1 < indices.size(); ++i) {
        const Duration until = provocation(indices[i + 1]).said - provocation(indices[i]).said;
        answers_[indices[i]].counts = until > kSaidTwice;
        if (provocation(indices[i + 1]).said <= now_) answers_[indices[i]].is_over = true;
      }
    }
  }

  Sign sign_at(std::size_t node, std::size_t report) const {
    return sign_of(day_.nodes[node], beats_[node], report);
  }

  /// People say so with the button under their finger: rather after than before.
  static std::int64_t distance_ns(Instant said, Instant heard) {
    const std::int64_t late = (heard - said).ns;
    return late >= 0 ? late : -2 * late;
  }

  /// Calls `take(report, distance)` for each of the node's reports in the window.
  template <class Take>
  void for_reports(std::size_t provocation_index, std::size_t node, const Take& take) const {
    const Instant said = provocation(provocation_index).said;
    const auto& reports = day_.nodes[node].reports;
    const auto from =
        std::lower_bound(reports.begin(), reports.end(), said - kProvokedBefore,
                         [](const FirstReport& report, Instant at) { return report.at < at; });
    for (auto report = from; report != reports.end() && report->at <= said + kProvokedAfter;
         ++report) {
      take(static_cast<std::size_t>(report - reports.begin()), distance_ns(said, report->at));
    }
  }

  void give(const Candidate& candidate, bool is_own, bool is_certain) {
    Answer& answer = answers_[candidate.provocation];
    answer.node = candidate.node;
    answer.report = candidate.report;
    answer.sign = candidate.sign;
    answer.is_own = is_own;
    answer.is_certain = is_certain;
    used_.insert({candidate.node, candidate.report});
  }

  /// Gives each report to one provocation, the best first.
  void hand_out(std::vector<Candidate>& candidates, bool is_certain) {
    std::sort(candidates.begin(), candidates.end(),
              [](const Candidate& a, const Candidate& b) { return a.rank() < b.rank(); });
    for (const Candidate& candidate : candidates) {
      if (answers_[candidate.provocation].node) continue;
      if (used_.contains({candidate.node, candidate.report})) continue;
      give(candidate, true, is_certain);
      if (is_certain) recognised_.insert(candidate.node);
    }
  }

  /// The first report of a node that was running says little while another node, for
  /// which nobody speaks, began anew at the same time.
  bool is_doubtful(const Candidate& candidate) const {
    return candidate.sign == Sign::first && began_anew_[candidate.provocation];
  }

  void match_own() {
    std::vector<Candidate> sure;
    std::vector<Candidate> first;
    for (std::size_t i = 0; i < day_.provocations.size(); ++i) {
      for (const std::size_t node : suffixes_.ending_in(provocation(i).digits)) {
        for_reports(i, node, [&](std::size_t report, std::int64_t distance) {
          const Sign sign = sign_at(node, report);
          if (sign == Sign::maybe_a_beat) return;
          (sign == Sign::first ? first : sure).push_back({i, node, report, sign, distance});
        });
      }
    }
    hand_out(sure, true);
    find_anew();
    std::erase_if(first, [this](const Candidate& candidate) { return is_doubtful(candidate); });
    hand_out(first, true);
  }

  /// Where a node whose own label nobody provoked restarted or began within a window.
  void find_anew() {
    began_anew_.assign(day_.provocations.size(), false);
    for (std::size_t i = 0; i < day_.provocations.size(); ++i) {
      if (answers_[i].node) continue;
      for (const Candidate& stranger : strangers_of(i)) {
        if (stranger.sign <= Sign::fresh) began_anew_[i] = true;
      }
    }
  }

  /// A node all of whose reports but one came promptly when it was provoked, at uneven
  /// times: no beat does that.
  void match_only_asked() {
    constexpr Duration kPromptly{30LL * 1'000'000'000};
    std::map<std::size_t, std::vector<Candidate>> by_node;
    for (std::size_t i = 0; i < day_.provocations.size(); ++i) {
      if (answers_[i].node) continue;
      for (const std::size_t node : suffixes_.ending_in(provocation(i).digits)) {
        if (beats_[node].interval) continue;
        for_reports(i, node, [&](std::size_t report, std::int64_t distance) {
          if (distance > kPromptly.ns || used_.contains({node, report})) return;
          by_node[node].push_back({i, node, report, Sign::only_asked, distance});
        });
      }
    }
    for (auto& [node, candidates] : by_node) {
      if (speaks_when_asked(node, candidates)) hand_out(candidates, true);
    }
  }

  bool speaks_when_asked(std::size_t node, const std::vector<Candidate>& candidates) const {
    std::set<std::size_t> provocations;
    std::set<std::size_t> heard;
    for (const Candidate& candidate : candidates) {
      provocations.insert(candidate.provocation);
      heard.insert(candidate.report);
    }
    const auto& reports = day_.nodes[node].reports;
    if (heard.size() < 2 || provocations.size() < heard.size()) return false;
    if (reports.size() > heard.size() + 1) return false;
    std::int64_t shortest = std::numeric_limits<std::int64_t>::max();
    std::int64_t longest = 0;
    for (std::size_t i = 1; i < reports.size(); ++i) {
      shortest = std::min(shortest, (reports[i].at - reports[i - 1].at).ns);
      longest = std::max(longest, (reports[i].at - reports[i - 1].at).ns);
    }
    return longest > shortest + shortest / 8;
  }

  /// The first report of a node since its own label was provoked: its answer was lost,
  /// and this beat shows what the answer would have.
  bool is_late_answer(std::size_t node, std::size_t report) const {
    const auto& reports = day_.nodes[node].reports;
    const auto& said = own_said_[node];
    const auto after = std::upper_bound(said.begin(), said.end(), reports[report].at);
    if (after == said.begin()) return false;
    return report == 0 || reports[report - 1].at < *std::prev(after);
  }

  /// Signs of being provoked from nodes that have not been recognised by their own
  /// label, in the window of a provocation, and not in one of their own.
  std::vector<Candidate> strangers_of(std::size_t i) const {
    const Instant said = provocation(i).said;
    const std::vector<std::size_t> own = suffixes_.ending_in(provocation(i).digits);
    std::map<std::size_t, Candidate> best;
    auto shown = std::lower_bound(signs_.begin(), signs_.end(), said - kProvokedBefore,
                                  [](const Shown& sign, Instant at) { return sign.at < at; });
    for (; shown != signs_.end() && shown->at <= said + kProvokedAfter; ++shown) {
      if (recognised_.contains(shown->node) || used_.contains({shown->node, shown->report}) ||
          std::binary_search(own.begin(), own.end(), shown->node) ||
          is_late_answer(shown->node, shown->report)) {
        continue;
      }
      const Candidate candidate{i, shown->node, shown->report, shown->sign,
                                distance_ns(said, shown->at)};
      Candidate& known = best.try_emplace(shown->node, candidate).first->second;
      if (candidate.rank() < known.rank()) known = candidate;
      if (best.size() > kMostStrangers) return {};
    }
    std::vector<Candidate> strangers;
    strangers.reserve(best.size());
    for (const auto& [node, candidate] : best) strangers.push_back(candidate);
    return strangers;
  }

  /// Whether the label's own node may have answered, for all that is known.
  bool own_may_have_answered(std::size_t i) const {
    bool may = false;
    for (const std::size_t node : suffixes_.ending_in(provocation(i).digits)) {
      if (beats_[node].interval) continue;
      for_reports(i, node, [&](std::size_t, std::int64_t) { may = true; });
    }
    return may;
  }

  struct Suspicion {
    int points = 0;
    bool is_over = false;  ///< all windows that speak for it have passed
    bool own_may = false;  ///< in one of them the label's own node may have answered
    std::vector<Candidate> by;
  };

  using Suspicions = std::map<std::size_t, Suspicion>;  // by node

  Suspicions suspicions_of(const std::vector<std::size_t>& provocations) const {
    Suspicions suspicions;
    std::set<ReportKey> taken;
    for (const std::size_t i : provocations) {
      for (const Candidate& stranger : strangers_of(i)) {
        if (!taken.insert({stranger.node, stranger.report}).second) continue;
        Suspicion& suspicion = suspicions[stranger.node];
        suspicion.points += stranger.sign <= Sign::fresh ? 2 : 1;
        suspicion.is_over |= now_ >= provocation(i).said + kProvokedAfter;
        suspicion.own_may |= own_may_have_answered(i);
        suspicion.by.push_back(stranger);
      }
    }
    // A node that begins anew by itself answers nobody.
    std::erase_if(suspicions, [this](const auto& entry) {
      return unasked_[entry.first] > entry.second.by.size();
    });
    return suspicions;
  }

  struct Suspect {
    std::size_t node;
    Suspicion suspicion;
  };

  /// The node for which most speaks; none where two are alike.
  static std::optional<Suspect> most_suspect(const Suspicions& suspicions) {
    std::optional<Suspect> most;
    bool alike = false;
    for (const auto& [node, suspicion] : suspicions) {
      if (most && suspicion.points < most->suspicion.points) continue;
      alike = most && suspicion.points == most->suspicion.points;
      most = Suspect{node, suspicion};
    }
    return alike ? std::nullopt : most;
  }

  void match_strangers() {
    std::map<std::size_t, std::vector<Suspicion>> by_node;
    for (const auto& [digits, provocations] : by_digits_) {
      const bool answered =
          std::any_of(provocations.begin(), provocations.end(),
                      [this](std::size_t i) { return answers_[i].node.has_value(); });
      if (answered) continue;
      auto suspect = most_suspect(suspicions_of(provocations));
      if (suspect) by_node[suspect->node].push_back(std::move(suspect->suspicion));
    }
    for (auto& [node, suspicions] : by_node) {
      std::sort(suspicions.begin(), suspicions.end(),
                [](const Suspicion& a, const Suspicion& b) { return a.points > b.points; });
      if (suspicions.size() > 1 && suspicions[0].points == suspicions[1].points) continue;
      const Suspicion& suspicion = suspicions.front();
      for (const Candidate& candidate : suspicion.by) {
        give(candidate, false, is_certain(suspicion));
      }
    }
  }

  static bool is_certain(const Suspicion& suspicion) {
    constexpr int kRestart = 2;
    constexpr int kTwoRestarts = 4;
    if (suspicion.points >= kTwoRestarts) return true;
    if (suspicion.points < kRestart || suspicion.own_may) return false;
    return suspicion.by.size() > 1 || suspicion.is_over;
  }

  void match_maybe() {
    std::vector<Candidate> plain;
    for (std::size_t i = 0; i < day_.provocations.size(); ++i) {
      if (answers_[i].node) continue;
      for (const std::size_t node : suffixes_.ending_in(provocation(i).digits)) {
        for_reports(i, node, [&](std::size_t report, std::int64_t distance) {
          plain.push_back({i, node, report, Sign::maybe_a_beat, distance});
        });
      }
    }
    hand_out(plain, false);
  }

  const FirstDay& day_;
  std::span<const FirstBeat> beats_;
  const Suffixes& suffixes_;
  Instant now_;
  std::vector<Shown> signs_;
  std::vector<std::size_t> unasked_;  ///< by node
  std::vector<Answer> answers_;
  std::vector<std::vector<Instant>> own_said_;  ///< by node: when its label was provoked
  std::map<std::string, std::vector<std::size_t>> by_digits_;
  std::set<ReportKey> used_;
  std::set<std::size_t> recognised_;
  std::vector<bool> began_anew_;
};

}  // namespace

std::vector<Answer> answers(const Matching& matching, Instant now) {
  return Matcher{matching, now}.run();
}

}  // namespace fieldfare::judge::internal
