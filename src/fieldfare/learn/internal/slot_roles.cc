// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/slot_roles.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "fieldfare/base/address.h"
#include "fieldfare/learn/internal/slot_draft.h"
#include "fieldfare/learn/internal/slot_series.h"
#include "fieldfare/learn/internal/slot_times.h"
#include "fieldfare/learn/internal/slot_values.h"

namespace fieldfare::learn {
namespace {

using fleet::FieldLayout;
using fleet::FieldRole;

class Describer {
 public:
  Describer(const SlotTable& table, const Sample& sample)
      : table_{table},
        sample_{sample},
        draft_{table},
        facts_{draft_.facts()},
        senses_{draft_.senses()} {}

  Described describe() {
    find_who();
    find_network();
    find_receiver();
    find_signals();
    find_time();
    find_readings(draft_, nodes_, node_labels_, sample_);
    Described out = draft_.finish();
    out.sequence = sequence_;
    out.nodes = std::move(node_labels_);
    return out;
  }

 private:
  std::string called(std::size_t slot) const { return draft_.called(slot); }

  // --- who sent it, and which of its reports -------------------------------------

  void find_who() {
    origin_ = find_origin({table_, senses_, facts_, sample_.labels});
    nodes_ = number_nodes(table_, origin_.node);
    if (origin_.node) {
      add_node(*origin_.node);
    } else {
      draft_.say(
          "address", Sureness::open,
          "no value tells one node from another: a report doesn't say whose it is",
          "reports of a second node; or, where there is only one, a value in its reports that "
          "names it");
    }
    if (origin_.counter) {
      add_counter(*origin_.counter);
    } else {
      draft_.say("counter", Sureness::open,
                 "no number rises by one from report to report of a node",
                 "more reports in a row of one node");
    }
  }

  /// Addresses are digits as labels show them; short numbers and words are names.
  bool are_addresses() const {
    constexpr std::size_t kShortest = 4;
    constexpr std::size_t kSurely = 7;
    bool has_digit = false;
    for (const std::string& name : nodes_.names) {
      const auto address = parse_address(name);
      if (!address || address->digits < kShortest) return false;
      const bool is_number =
          std::all_of(name.begin(), name.end(), [](char c) { return c >= '0' && c <= '9'; });
      if (is_number && address->digits < kSurely) return false;
      has_digit = has_digit || name.find_first_of("0123456789") != std::string::npos;
    }
    return has_digit;
  }

  void add_node(std::size_t slot) {
    const bool addresses = are_addresses();
    draft_.add(slot, addresses ? FieldRole::address : FieldRole::name, "node");
    for (const std::string& name : nodes_.names) {
      const auto address = addresses ? parse_address(name) : std::nullopt;
      node_labels_.push_back(address ? address->text() : name);
    }
    const std::string kind = addresses ? "address" : "name";
    const std::size_t count = nodes_.names.size();
    if (origin_.labels_met > 0) {
      const bool all = origin_.labels_met == sample_.labels.size();
      draft_.say_of_it(
          "address", all && origin_.labels_met > 1 ? Sureness::certain : Sureness::likely,
          fmt::format("{} is the {} of the node: {} of {} labels end as {} of its {} values do",
                      called(slot), kind, origin_.labels_met, sample_.labels.size(),
                      origin_.labels_met, count));
    } else if (origin_.node_is_named) {
      draft_.say_of_it("address", Sureness::likely,
                       fmt::format("{} is the {} of the node, as it is called so: {} in {} reports",
                                   called(slot), kind, count, table_.reports()),
                       "the last digits of two nodes' labels");
    } else {
      const bool counts = origin_.counter && count > 1 && !origin_.node_rival;
      draft_.say_of_it(
          "address", counts ? Sureness::likely : Sureness::guess,
          fmt::format("{} is the {} of the node: it has {} value{} in {} reports{}{}", called(slot),
                      kind, count, count == 1 ? "" : "s", table_.reports(),
                      counts ? ", and for each of them a counter rises" : "",
                      origin_.node_rival
                          ? fmt::format("; {} would do as well", called(*origin_.node_rival))
                          : ""),
          count == 1 ? "reports of a second node" : "the last digits of two nodes' labels");
    }
  }

  void add_counter(std::size_t slot) {
    draft_.add(slot, FieldRole::sequence, "seq");
    const Steps& steps = origin_.steps;
    const std::size_t moved = steps.pairs - steps.same;
    constexpr std::size_t kEnough = 7;  // each by chance in less than a tenth of cases
    Sureness sureness = Sureness::guess;
    if (steps.step == 1 && 10 * steps.usual >= 5 * moved && steps.usual >= 2) {
      sureness = steps.usual >= kEnough ? Sureness::certain : Sureness::likely;
    } else if (origin_.counter_is_named && 10 * steps.rising >= 9 * moved && moved > 1) {
      sureness = Sureness::likely;
    }
    std::string what = fmt::format("{} counts the reports of a node: of {} changes {} are by {}",
                                   called(slot), moved, steps.usual, steps.step);
    std::string decides;
    if (steps.step != 1) {
      what += fmt::format("; it steps by {}, so that what lies between will count as missed",
                          steps.step);
      decides = "reports one by one of a node that nothing else is sent with";
    }
    if (origin_.counter_rival &&
        (!origin_.counter_is_named || senses_[*origin_.counter_rival].counter)) {
      sureness = std::min(Sureness::guess, std::max(sureness, Sureness::guess));
      what += fmt::format("; {} would do as well", called(*origin_.counter_rival));
      decides = "a restart of a node, which begins its own counter anew";
    }
    draft_.say_of_it("counter", sureness, std::move(what), std::move(decides));
    sequence_ = sequence_facts(table_, nodes_, slot);
  }

  // --- network and receiver --------------------------------------------------------

  void find_network() {
    for (std::size_t i = 0; i < facts_.size(); ++i) {
      if (!draft_.is_free(i) || !senses_[i].network || !facts_[i].is_number() ||
          facts_[i].whole < facts_[i].numbers || facts_[i].low < 0) {
        continue;
      }
      draft_.add(i, FieldRole::network, "pan");
      draft_.say_of_it(
          "network", Sureness::likely,
          fmt::format("{} is the number of the network, as it is called so", called(i)));
      return;
    }
  }

  void find_receiver() {
    for (std::size_t i = 0; i < facts_.size(); ++i) {
      const SlotFacts& facts = facts_[i];
      if (!draft_.is_free(i) || !senses_[i].receiver || facts.there * 2 < table_.reports())
        continue;
      if (facts.distinct > 1 && facts.distinct * 2 > facts.there) continue;
      draft_.add(i, FieldRole::receiver, "receiver");
      draft_.say_of_it(
          "field", Sureness::likely,
          fmt::format("{} is the receiver that heard it, as it is called so: {} of them", called(i),
                      facts.distinct));
      return;
    }
  }

  // --- signal ---------------------------------------------------------------------

  /// The slot with this sense and numbers within a range; with several, the one with
  /// the shortest name that isn't an average or the other side's.
  std::optional<std::size_t> named(bool KeySense::*sense, double low, double high) const {
    std::optional<std::size_t> best;
    double best_rank = 0;
    for (std::size_t i = 0; i < facts_.size(); ++i) {
      const SlotFacts& facts = facts_[i];
      if (!draft_.is_free(i) || !(senses_[i].*sense) || !facts.is_number()) continue;
      if (facts.low < low || facts.high > high) continue;
      const auto words = words_of(table_.slots[i].key);
      double rank = static_cast<double>(words.size());
      for (const std::string& word : words) {
        if (word == "gw" || word == "gateway" || word == "rx") rank -= 3;
        if (word == "avg" || word == "mean" || word == "min" || word == "max") rank += 3;
      }
      if (!best || rank < best_rank) {
        best = i;
        best_rank = rank;
      }
    }
    return best;
  }

  void add_signal(std::optional<std::size_t> slot, FieldRole role, const char* name,
                  const char* what) {
    if (!slot) return;
    draft_.add(*slot, role, name);
    draft_.say_of_it(
        "signal", Sureness::likely,
        fmt::format("{} is {}, as it is called so: {}", called(*slot), what, draft_.span(*slot)));
  }

  void find_signals() {
    const auto rssi = named(&KeySense::rssi, -150, 20);
    add_signal(rssi, FieldRole::rssi, "rssi", "the signal level in dBm");
    add_signal(named(&KeySense::snr, -60, 60), FieldRole::snr, "snr",
               "the signal above noise in dB");
    add_signal(named(&KeySense::lqi, 0, 255), FieldRole::lqi, "lqi", "the link quality");
    add_signal(named(&KeySense::noise, -180, -30), FieldRole::noise, "noise",
               "the noise level in dBm");
    if (!rssi) guess_level();
  }

  /// A column without a name whose values could be nothing but a level in dBm.
  void guess_level() {
    std::optional<std::size_t> level;
    for (std::size_t i = 0; i < facts_.size(); ++i) {
      const SlotFacts& facts = facts_[i];
      const bool is_nameless = table_.slots[i].key.empty() || senses_[i].unit == "dbm";
      if (!draft_.is_free(i) || !is_nameless || !facts.is_number() || facts.distinct < 3) continue;
      if (facts.low < -145 || facts.high > -15 || facts.high - facts.low < 2) continue;
      if (level) return;
      level = i;
    }
    if (!level) return;
    draft_.add(*level, FieldRole::rssi, "rssi");
    draft_.say_of_it("signal", Sureness::guess,
                     fmt::format("{} may be the signal level in dBm: {}, and nothing else lies so",
                                 called(*level), draft_.span(*level)),
                     "reports from close by and from far off");
  }

  // --- time -----------------------------------------------------------------------

  void find_time() {
    const TimeSearch search = find_times(table_, draft_.taken(), nodes_);
    for (const std::size_t slot : search.unusable) {
      draft_.leave_out(slot);
      draft_.say("time", Sureness::likely,
                 fmt::format("{} is a time without a zone, which a sheet can't read: left out",
                             called(slot)));
    }
    for (const TimeSlot& each : search.disagreeing) {
      draft_.leave_out(each.slot);
      draft_.say(
          "time", Sureness::guess,
          fmt::format("{} looks like a time, but {} of {} reports have it, and it goes back {} "
                      "times: nodes "
                      "with clocks of their own, left out",
                      called(each.slot), facts_[each.slot].there, table_.reports(), each.backwards),
          "times of arrival beside it");
    }
    if (!search.best) return;
    FieldLayout& field = draft_.add(search.best->slot, FieldRole::time, "time");
    field.conversion.scale = search.best->scale_s;
    draft_.say_of_it("time", search.best->sureness,
                     fmt::format("{} is a time, {}: {}", called(search.best->slot),
                                 search.best->kind, search.best->reason));
  }

  const SlotTable& table_;
  const Sample& sample_;
  Draft draft_;
  const std::vector<SlotFacts>& facts_;
  const std::vector<KeySense>& senses_;
  Origin origin_;
  NodeNumbers nodes_;
  std::vector<std::string> node_labels_;
  fleet::SequenceFacts sequence_;
};

}  // namespace

Described describe(const SlotTable& table, const Sample& sample) {
  return Describer{table, sample}.describe();
}

}  // namespace fieldfare::learn
