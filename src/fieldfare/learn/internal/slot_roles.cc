// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/slot_roles.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <set>

#include "fieldfare/base/address.h"
#include "fieldfare/learn/internal/readings.h"
#include "fieldfare/learn/internal/slot_readings.h"
#include "fieldfare/learn/internal/slot_series.h"
#include "fieldfare/learn/internal/slot_times.h"

namespace fieldfare::learn {
namespace {

using fleet::FieldLayout;
using fleet::FieldRole;

/// Texts of which so many share differ from all others of the slot are most likely
/// a run of octets.
constexpr std::size_t kShortestPayload = 16;

bool is_hex_text(std::string_view text) {
  return !text.empty() && std::all_of(text.begin(), text.end(), [](char c) {
    return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f') || (c >= 'A' && c <= 'F');
  });
}

class Describer {
 public:
  Describer(const SlotTable& table, const Sample& sample) : table_{table}, sample_{sample} {
    for (const Slot& slot : table.slots) {
      facts_.push_back(facts_of(slot));
      senses_.push_back(sense_of(slot.key, slot.unit));
    }
    taken_.assign(table.slots.size(), false);
  }

  Described describe() {
    find_who();
    find_network();
    find_receiver();
    find_signals();
    find_time();
    find_readings();
    order();
    return std::move(out_);
  }

 private:
  struct Made {
    std::size_t slot;
    FieldLayout field;
  };

  FieldLayout& add(std::size_t slot, FieldRole role, std::string name) {
    taken_[slot] = true;
    const SlotFacts& facts = facts_[slot];
    FieldLayout field;
    field.name = free_name(std::move(name));
    field.role = role;
    field.place = table_.slots[slot].place;
    if (table_.slots[slot].is_hex) set_hex(field.place);
    field.optional = facts.there < table_.reports();
    if (field.optional && (role == FieldRole::address || role == FieldRole::name)) {
      field.optional = false;
    }
    made_.push_back({slot, std::move(field)});
    return made_.back().field;
  }

  static void set_hex(fleet::FieldPlace& place) {
    std::visit(
        [](auto& at) {
          if constexpr (requires { at.coding; }) at.coding = fleet::TextCoding::hex;
        },
        place);
  }

  /// A name that no field has yet.
  std::string free_name(std::string name) {
    std::string free = name;
    for (std::size_t n = 1; !names_.insert(free).second; ++n) {
      free = fleet::repeated_name(name, n);
    }
    return free;
  }

  void say(std::string part, Sureness sureness, std::string what, std::string decides = {}) {
    Finding finding{std::move(part), sureness, std::move(what), std::move(decides), std::nullopt};
    out_.findings.push_back(std::move(finding));
  }
  /// About the field that was added last.
  void say_of_it(std::string part, Sureness sureness, std::string what, std::string decides = {}) {
    say(std::move(part), sureness, std::move(what), std::move(decides));
    about_.emplace_back(out_.findings.size() - 1, made_.back().slot);
  }

  const std::string called(std::size_t slot) const { return table_.slots[slot].called(); }

  // --- who sent it, and which of its reports -------------------------------------

  void find_who() {
    origin_ = find_origin({table_, senses_, facts_, sample_.labels});
    nodes_ = number_nodes(table_, origin_.node);
    if (origin_.node) {
      add_node(*origin_.node);
    } else {
      say("address", Sureness::open,
          "no value tells one node from another: a report doesn't say whose it is",
          "reports of a second node; or, where there is only one, a value in its reports that "
          "names it");
    }
    if (origin_.counter) {
      add_counter(*origin_.counter);
    } else {
      say("counter", Sureness::open, "no number rises by one from report to report of a node",
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
    add(slot, addresses ? FieldRole::address : FieldRole::name, "node");
    for (const std::string& name : nodes_.names) {
      const auto address = addresses ? parse_address(name) : std::nullopt;
      out_.nodes.push_back(address ? address->text() : name);
    }
    const std::string kind = addresses ? "address" : "name";
    const std::size_t count = nodes_.names.size();
    if (origin_.labels_met > 0) {
      const bool all = origin_.labels_met == sample_.labels.size();
      say_of_it(
          "address", all && origin_.labels_met > 1 ? Sureness::certain : Sureness::likely,
          fmt::format("{} is the {} of the node: {} of {} labels end as {} of its {} values do",
                      called(slot), kind, origin_.labels_met, sample_.labels.size(),
                      origin_.labels_met, count));
    } else if (origin_.node_is_named) {
      say_of_it("address", Sureness::likely,
                fmt::format("{} is the {} of the node, as it is called so: {} in {} reports",
                            called(slot), kind, count, table_.reports()),
                "the last digits of two nodes' labels");
    } else {
      const bool counts = origin_.counter && count > 1 && !origin_.node_rival;
      say_of_it("address", counts ? Sureness::likely : Sureness::guess,
                fmt::format("{} is the {} of the node: it has {} value{} in {} reports{}{}",
                            called(slot), kind, count, count == 1 ? "" : "s", table_.reports(),
                            counts ? ", and for each of them a counter rises" : "",
                            origin_.node_rival
                                ? fmt::format("; {} would do as well", called(*origin_.node_rival))
                                : ""),
                count == 1 ? "reports of a second node" : "the last digits of two nodes' labels");
    }
  }

  void add_counter(std::size_t slot) {
    add(slot, FieldRole::sequence, "seq");
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
    say_of_it("counter", sureness, std::move(what), std::move(decides));
    out_.sequence = sequence_facts(table_, nodes_, slot);
  }

  // --- network and receiver --------------------------------------------------------

  void find_network() {
    for (std::size_t i = 0; i < taken_.size(); ++i) {
      if (taken_[i] || !senses_[i].network || !facts_[i].is_number() ||
          facts_[i].whole < facts_[i].numbers || facts_[i].low < 0) {
        continue;
      }
      add(i, FieldRole::network, "pan");
      say_of_it("network", Sureness::likely,
                fmt::format("{} is the number of the network, as it is called so", called(i)));
      return;
    }
  }

  void find_receiver() {
    for (std::size_t i = 0; i < taken_.size(); ++i) {
      const SlotFacts& facts = facts_[i];
      if (taken_[i] || !senses_[i].receiver || facts.there * 2 < table_.reports()) continue;
      if (facts.distinct > 1 && facts.distinct * 2 > facts.there) continue;
      add(i, FieldRole::receiver, "receiver");
      say_of_it("field", Sureness::likely,
                fmt::format("{} is the receiver that heard it, as it is called so: {} of them",
                            called(i), facts.distinct));
      return;
    }
  }

  // --- signal ---------------------------------------------------------------------

  /// The slot with this sense and numbers within a range; with several, the one with
  /// the shortest name that isn't an average or the other side's.
  std::optional<std::size_t> named(bool KeySense::*sense, double low, double high) const {
    std::optional<std::size_t> best;
    double best_rank = 0;
    for (std::size_t i = 0; i < taken_.size(); ++i) {
      const SlotFacts& facts = facts_[i];
      if (taken_[i] || !(senses_[i].*sense) || !facts.is_number()) continue;
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
    add(*slot, role, name);
    say_of_it("signal", Sureness::likely,
              fmt::format("{} is {}, as it is called so: {}", called(*slot), what, span(*slot)));
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
    for (std::size_t i = 0; i < taken_.size(); ++i) {
      const SlotFacts& facts = facts_[i];
      const bool is_nameless = table_.slots[i].key.empty() || senses_[i].unit == "dbm";
      if (taken_[i] || !is_nameless || !facts.is_number() || facts.distinct < 3) continue;
      if (facts.low < -145 || facts.high > -15 || facts.high - facts.low < 2) continue;
      if (level) return;
      level = i;
    }
    if (!level) return;
    add(*level, FieldRole::rssi, "rssi");
    say_of_it("signal", Sureness::guess,
              fmt::format("{} may be the signal level in dBm: {}, and nothing else lies so",
                          called(*level), span(*level)),
              "reports from close by and from far off");
  }

  // --- time -----------------------------------------------------------------------

  void find_time() {
    const TimeSearch search = find_times(table_, taken_, nodes_);
    for (const std::size_t slot : search.unusable) {
      taken_[slot] = true;
      say("time", Sureness::likely,
          fmt::format("{} is a time without a zone, which a sheet can't read: left out",
                      called(slot)));
    }
    for (const TimeSlot& each : search.disagreeing) {
      taken_[each.slot] = true;
      say("time", Sureness::guess,
          fmt::format("{} looks like a time, but {} of {} reports have it, and it goes back {} "
                      "times: nodes "
                      "with clocks of their own, left out",
                      called(each.slot), facts_[each.slot].there, table_.reports(), each.backwards),
          "times of arrival beside it");
    }
    if (!search.best) return;
    FieldLayout& field = add(search.best->slot, FieldRole::time, "time");
    field.conversion.scale = search.best->scale_s;
    say_of_it("time", search.best->sureness,
              fmt::format("{} is a time, {}: {}", called(search.best->slot), search.best->kind,
                          search.best->reason));
  }

  // --- readings -------------------------------------------------------------------

  void find_readings() {
    find_pinned();
    find_supply();
    for (std::size_t i = 0; i < taken_.size(); ++i) {
      if (taken_[i]) continue;
      if (facts_[i].is_number()) {
        add_reading(i);
      } else {
        leave_out(i);
      }
    }
  }

  std::vector<Sampled> samples_of(std::size_t slot) const {
    std::vector<Sampled> samples;
    for (std::size_t i = 0; i < table_.reports(); ++i) {
      const auto& cell = table_.slots[slot].cells[i];
      if (cell && cell->number && nodes_.of[i])
        samples.push_back({*nodes_.of[i], table_.at[i], *cell->number});
    }
    return samples;
  }

  /// Slots that agree with what instruments said.
  void find_pinned() {
    std::set<std::string> asked;
    for (const InstrumentValue& value : sample_.values) {
      if (asked.insert(value.field).second) pin_field(value.field);
    }
  }

  void pin_field(const std::string& field) {
    std::vector<InstrumentValue> values;
    std::copy_if(sample_.values.begin(), sample_.values.end(), std::back_inserter(values),
                 [&](const auto& each) { return each.field == field; });
    const std::string quantity = field.substr(0, field.rfind('_'));
    std::vector<std::pair<std::size_t, Pinned>> agreeing;
    for (std::size_t i = 0; i < taken_.size(); ++i) {
      if (taken_[i] || !facts_[i].is_number()) continue;
      const auto samples = samples_of(i);
      const auto pinned = pin(samples, values, out_.nodes);
      if (pinned) agreeing.emplace_back(i, *pinned);
    }
    if (agreeing.empty()) {
      say("field", Sureness::open,
          fmt::format("no value agrees with what the instrument said of `{}`", field),
          "another value of the instrument, with its time");
      return;
    }
    const auto best =
        std::max_element(agreeing.begin(), agreeing.end(), [&](const auto& a, const auto& b) {
          return rank_for(quantity, a) < rank_for(quantity, b);
        });
    const std::size_t slot = best->first;
    const bool is_named =
        senses_[slot].quantity == quantity || (field == "supply_v" && senses_[slot].supply);
    FieldLayout& layout = add(slot, field == "supply_v" ? FieldRole::supply : FieldRole::reading,
                              field == "supply_v" ? "supply" : field);
    layout.conversion.scale = best->second.scale;
    layout.conversion.offset = best->second.offset;
    const bool is_alone = agreeing.size() == 1;
    say_of_it("field", is_alone || is_named ? Sureness::likely : Sureness::guess,
              fmt::format(
                  "{} is `{}`: times {} plus {} it agrees with the instrument to {:.3g}{}",
                  called(slot), field, best->second.scale, best->second.offset, best->second.misfit,
                  is_alone ? "" : fmt::format("; {} others would, too", agreeing.size() - 1)),
              "a value of the instrument at another level");
  }

  double rank_for(const std::string& quantity, const std::pair<std::size_t, Pinned>& each) const {
    return (senses_[each.first].quantity == quantity ? 4 : 0) +
           (each.second.scale_is_usual ? 1 : 0) - std::min(each.second.misfit, 1.0);
  }

  void find_supply() {
    for (std::size_t i = 0; i < taken_.size(); ++i) {
      if (taken_[i] || !senses_[i].supply || !facts_[i].is_number()) continue;
      const auto scale = supply_scale(senses_[i], facts_[i]);
      if (!scale) continue;
      add(i, FieldRole::supply, "supply").conversion.scale = *scale;
      const bool is_as_said = senses_[i].unit == "mv" || (senses_[i].unit == "v" && *scale == 1);
      const std::string unit = senses_[i].unit.empty() ? "no unit" : senses_[i].unit;
      say_of_it("field", is_as_said ? Sureness::likely : Sureness::guess,
                fmt::format("{} is the supply: {}, given in {}; times {} it is {:.6g} to {:.6g} V",
                            called(i), span(i), unit, *scale, facts_[i].least * *scale,
                            facts_[i].most * *scale),
                is_as_said ? std::string{} : "the voltage of a node's cells, measured: `supply_v`");
      return;
    }
  }

  void add_reading(std::size_t i) {
    if (!facts_[i].varies() && senses_[i].quantity.empty()) {
      taken_[i] = true;
      say("field", Sureness::open,
          fmt::format("{} is always {}: left out", called(i), first_text(i)));
      return;
    }
    ReadingGuess guess = guess_reading(table_.slots[i], senses_[i], facts_[i]);
    add(i, FieldRole::reading, guess.name).conversion.scale = guess.scale;
    std::string what = fmt::format("{} is `{}`: {}", called(i), made_.back().field.name, span(i));
    if (!table_.slots[i].unit.empty()) what += ", with " + table_.slots[i].unit + " behind it";
    if (!guess.remark.empty()) what += "; " + guess.remark;
    say_of_it("field", guess.sureness, std::move(what), std::move(guess.decides));
  }

  /// Smallest and largest number, for findings.
  std::string span(std::size_t i) const {
    return fmt::format("{:.6g} to {:.6g}", facts_[i].least, facts_[i].most);
  }

  std::string first_text(std::size_t slot) const {
    for (const auto& cell : table_.slots[slot].cells) {
      constexpr std::size_t kShown = 24;
      if (cell) return '"' + cell->text.substr(0, kShown) + '"';
    }
    return "nothing";
  }

  /// Text that is nobody's name: said, and not read.
  void leave_out(std::size_t i) {
    taken_[i] = true;
    const SlotFacts& facts = facts_[i];
    if (facts.there == 0) return;
    const auto& cells = table_.slots[i].cells;
    const auto longest =
        std::max_element(cells.begin(), cells.end(), [](const auto& a, const auto& b) {
          return (a ? a->text.size() : 0) < (b ? b->text.size() : 0);
        });
    const std::string& text = (*longest)->text;
    const bool is_payload =
        senses_[i].payload || (text.size() >= kShortestPayload && is_hex_text(text));
    if (is_payload && 2 * facts.distinct > facts.there / 8) {
      say("body", Sureness::guess,
          fmt::format("{} carries {} characters that may be a frame within: not followed",
                      called(i), text.size()),
          "the frames alone, learnt as bytes");
      return;
    }
    if (facts.varies()) {
      say("field", Sureness::open,
          fmt::format("{} is text with {} values, such as {}: left out", called(i), facts.distinct,
                      first_text(i)));
    }
  }

  /// Fields in the order of slots, and findings that point to them.
  void order() {
    std::stable_sort(made_.begin(), made_.end(),
                     [](const Made& a, const Made& b) { return a.slot < b.slot; });
    for (Made& each : made_) {
      out_.fields.push_back(std::move(each.field));
      out_.slots.push_back(each.slot);
    }
    for (const auto& [finding, slot] : about_) {
      const auto at = std::find(out_.slots.begin(), out_.slots.end(), slot);
      out_.findings[finding].field = static_cast<std::size_t>(at - out_.slots.begin());
    }
  }

  const SlotTable& table_;
  const Sample& sample_;
  std::vector<SlotFacts> facts_;
  std::vector<KeySense> senses_;
  std::vector<bool> taken_;
  Origin origin_;
  NodeNumbers nodes_;
  std::vector<Made> made_;
  std::set<std::string> names_;
  std::vector<std::pair<std::size_t, std::size_t>> about_;  ///< finding, slot
  Described out_;
};

}  // namespace

Described describe(const SlotTable& table, const Sample& sample) {
  return Describer{table, sample}.describe();
}

}  // namespace fieldfare::learn
