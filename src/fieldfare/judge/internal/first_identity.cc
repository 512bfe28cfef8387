// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/judge/internal/first_identity.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <tuple>
#include <utility>

namespace fieldfare::judge::internal {
namespace {

constexpr std::size_t kEnoughTries = 3;
constexpr const char* kProvokeOnce =
    "provoke it once: press its button or restart it, and say so with p";

Finding make(Outcome outcome, std::string why, std::string headline, std::string next) {
  return {{Claim::identity, outcome, std::move(why), std::nullopt},
          std::move(headline),
          std::move(next)};
}

std::string sign_text(Sign sign, const FirstReport& report) {
  switch (sign) {
    case Sign::restart:
    case Sign::fresh:
      return report.sequence ? fmt::format("its counter began at {}", *report.sequence)
                             : std::string{"it began anew"};
    case Sign::first:
      return "it was not heard before";
    case Sign::extra:
      return "that was ahead of its beat";
    case Sign::only_asked:
      return "it speaks when it is provoked, and at no other time";
    case Sign::maybe_a_beat:
      break;
  }
  return "that may have been its beat";
}

}  // namespace

std::vector<Label> labels_of(const FirstDay& day, const Suffixes& suffixes) {
  std::vector<Label> labels;
  std::map<std::string, std::size_t> known;
  const auto index_of = [&](const std::string& digits) {
    const auto [entry, is_new] = known.try_emplace(digits, labels.size());
    if (is_new) labels.push_back({digits, suffixes.ending_in(digits), {}});
    return entry->second;
  };
  for (const std::string& digits : day.labels) index_of(digits);
  for (std::size_t i = 0; i < day.provocations.size(); ++i) {
    labels[index_of(day.provocations[i].digits)].provocations.push_back(i);
  }
  return labels;
}

Identities::Identities(const FirstDay& day, std::span<const Answer> answers,
                       std::vector<Label> labels)
    : day_{day},
      answers_{answers},
      labels_{std::move(labels)},
      best_(day.nodes.size()),
      wears_(day.nodes.size()) {
  // Answered before provoked, provoked before typed, the only fit before one of
  // several, more digits before fewer.
  const auto rank = [this](std::size_t label, std::size_t node) {
    const Label& is = labels_[label];
    return std::tuple{answer_by(is, node) != nullptr, !is.provocations.empty(), is.fits.size() == 1,
                      is.digits.size()};
  };
  for (std::size_t i = 0; i < labels_.size(); ++i) {
    for (const std::size_t node : labels_[i].fits) {
      if (!best_[node] || rank(i, node) > rank(*best_[node], node)) best_[node] = i;
    }
    const Answer* other = stranger(labels_[i]);
    if (other != nullptr && other->is_certain) wears_[*other->node] = i;
  }
}

const Label* Identities::label_of(std::size_t node) const {
  return best_[node] ? &labels_[*best_[node]] : nullptr;
}

const Answer* Identities::answer_by(const Label& label, std::size_t node) const {
  const Answer* found = nullptr;
  for (const std::size_t i : label.provocations) {
    const Answer& answer = answers_[i];
    if (answer.node == node && answer.is_own && answer.is_certain) found = &answer;
  }
  return found;
}

const Answer* Identities::stranger(const Label& label) const {
  const Answer* found = nullptr;
  for (const std::size_t i : label.provocations) {
    if (answers_[i].node && !answers_[i].is_own) found = &answers_[i];
  }
  return found;
}

bool Identities::is_waiting(const Label& label) const {
  return !label.provocations.empty() && !answers_[label.provocations.back()].is_over;
}

std::size_t Identities::tries(const Label& label) const {
  return static_cast<std::size_t>(
      std::count_if(label.provocations.begin(), label.provocations.end(),
                    [this](std::size_t i) { return answers_[i].counts && answers_[i].is_over; }));
}

/// As many of its last digits as the label has, four at least; all where those don't
/// tell the two apart.
std::string Identities::ending(std::size_t node, const Label& label) const {
  constexpr std::size_t kFewest = 4;
  const std::string& address = day_.nodes[node].address;
  const std::size_t size = std::max(kFewest, label.digits.size());
  if (address.size() <= size) return address;
  return ".." + address.substr(address.size() - size);
}

Finding Identities::met(const Label& label, std::size_t node, const Answer& answer) const {
  const FirstReport& report = day_.nodes[node].reports[answer.report];
  std::string why = fmt::format("..{} answered when it was provoked: {}", label.digits,
                                sign_text(answer.sign, report));
  return make(Outcome::met, std::move(why), {}, {});
}

std::optional<Finding> Identities::judge_stranger(const Label& label) const {
  const Answer* other = stranger(label);
  if (other == nullptr) return std::nullopt;
  const std::string speaks_as = ending(*other->node, label);
  if (!other->is_certain) {
    return make(Outcome::open,
                fmt::format("{} spoke up when ..{} was provoked: its case may wear a wrong label",
                            speaks_as, label.digits),
                "wrong label?",
                fmt::format("provoke ..{} once more, and nothing else meanwhile", label.digits));
  }
  return make(Outcome::failed,
              fmt::format("the case labelled ..{} speaks as {}", label.digits, speaks_as),
              "wrong label",
              fmt::format("relabel that case {}; the label ..{} belongs on another case", speaks_as,
                          label.digits));
}

/// Three tries, all over, and nothing of it since the first of them.
std::optional<Finding> Identities::judge_mute(const Label& label) const {
  if (is_waiting(label) || tries(label) < kEnoughTries) return std::nullopt;
  const Instant from = day_.provocations[label.provocations.front()].said - kProvokedBefore;
  std::size_t others = 0;
  for (std::size_t node = 0; node < day_.nodes.size(); ++node) {
    const auto& reports = day_.nodes[node].reports;
    const bool heard = !reports.empty() && reports.back().at >= from;
    const bool is_own = std::binary_search(label.fits.begin(), label.fits.end(), node);
    if (heard && is_own) return std::nullopt;
    if (heard) ++others;
  }
  const std::string tried = counted(tries(label), "provocation", "provocations");
  if (others == 0) {
    // What a deaf receiver misses is no node's fault.
    return make(
        Outcome::open,
        fmt::format("nothing answered {}, but the receiver heard no other node either", tried),
        "not heard", "check the receiver first: its antenna, port and channel");
  }
  return make(
      Outcome::failed,
      fmt::format("mute: it did not answer {}, while {} heard", tried,
                  others == 1 ? "another node was" : fmt::format("{} other nodes were", others)),
      "not heard",
      "check its switch, its cells and which way round they are, and its antenna; then its "
      "channel and network");
}

Finding Identities::judge_unanswered(const Label& label) const {
  if (const auto mute = judge_mute(label)) return *mute;
  const bool heard = !label.fits.empty();
  if (is_waiting(label)) {
    return make(
        Outcome::open,
        heard ? fmt::format("..{} is provoked, its answer may take two minutes", label.digits)
              : fmt::format("nothing was heard of ..{} so far; it is provoked, and its answer may "
                            "take two minutes",
                            label.digits),
        heard ? "waiting" : "not heard", {});
  }
  if (label.provocations.empty()) {
    return make(Outcome::open,
                heard ? fmt::format("..{} was heard, but nobody provoked it", label.digits)
                      : fmt::format("nothing was heard of ..{} so far", label.digits),
                heard ? "provoke it" : "not heard", kProvokeOnce);
  }
  const std::string tried = counted(tries(label), "provocation", "provocations");
  if (!heard) {
    return make(Outcome::open,
                fmt::format("nothing was heard of ..{} after {}", label.digits, tried), "not heard",
                "check its switch, cells and antenna, bring it within 3 m, and provoke it again");
  }
  const bool maybe =
      std::any_of(label.provocations.begin(), label.provocations.end(),
                  [this](std::size_t i) { return answers_[i].node && answers_[i].is_own; });
  return make(Outcome::open,
              maybe ? fmt::format("a report of ..{} came when it was provoked, but it could have "
                                  "been its ordinary beat",
                                  label.digits)
                    : fmt::format("..{} was heard, but did not answer {}", label.digits, tried),
              "provoke again",
              maybe ? "provoke it again, between two of its beats, and say so with p"
                    : "take its cells out for ten seconds, put them in again, and say so with p");
}

Finding Identities::judge_node(std::size_t node) const {
  const Label* label = label_of(node);
  if (label != nullptr) {
    if (const Answer* answer = answer_by(*label, node)) return met(*label, node, *answer);
  }
  if (wears_[node]) return *judge_stranger(labels_[*wears_[node]]);
  if (label == nullptr) {
    return make(Outcome::open, "it was heard, but no label was typed that fits it",
                "type its label", "type the last digits of the label on its case");
  }
  if (const auto other = judge_stranger(*label)) return *other;
  if (label->fits.size() > 1 && !is_waiting(*label)) {
    std::string all;
    constexpr std::size_t kMostNamed = 3;
    for (std::size_t i = 0; i < std::min(kMostNamed, label->fits.size()); ++i) {
      all += (i == 0 ? "" : ", ") + day_.nodes[label->fits[i]].address;
    }
    if (label->fits.size() > kMostNamed) all += ", ...";
    return make(Outcome::open,
                fmt::format("..{} fits {} nodes: {}", label->digits, label->fits.size(), all),
                "which one?", "type more digits of its label, or provoke it and say so with p");
  }
  return judge_unanswered(*label);
}

Finding Identities::judge_unheard(const Label& label) const {
  if (const auto other = judge_stranger(label)) return *other;
  return judge_unanswered(label);
}

}  // namespace fieldfare::judge::internal
