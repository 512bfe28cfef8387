// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/binary_kind.h"

#include <algorithm>
#include <map>
#include <utility>

namespace fieldfare::learn {
namespace {

constexpr std::size_t kFewestOctets = 24;
constexpr std::size_t kMostOctets = std::size_t{4} << 20;
constexpr std::size_t kFewOctets = 12 * 1024;  // enough to tell framing and check by
constexpr std::size_t kFewestFrames = 3;
constexpr std::size_t kShortestFrame = 4;  // that can hold an address and a counter
// A report may come so long before somebody says that it was provoked, and so long after.
constexpr Duration kSaidLate = Duration::seconds(40);
constexpr Duration kSaidEarly = Duration::seconds(60);
constexpr Duration kShortlyBefore = Duration::seconds(5);

void cut_all(BinaryFound& found, const Runs& runs) {
  FramingGuess bare = found.framing.guess;
  bare.facts.check.reset();
  found.frames = cut_as(bare, runs).frames.size();
  found.cut = cut_as(found.framing.guess, runs);
  found.frames = std::max(found.frames, found.cut.frames.size());
  found.sound = sound_frames(found.cut, found.framing.guess.facts);
  std::map<std::size_t, std::size_t> lengths;
  for (const CutFrame* const frame : found.sound) ++lengths[frame->octets.size()];
  for (const auto& [length, count] : lengths) {
    if (count > lengths[found.length]) found.length = length;
  }
  // Damage makes lengths of its own, which come seldom.
  const std::size_t often = found.framing.guess.facts.check ? 3 : 1 + lengths[found.length] / 3;
  found.regular.clear();
  found.told.clear();
  found.told_length = found.length;
  for (const CutFrame* const frame : found.sound) {
    const std::size_t length = frame->octets.size();
    if (length == found.length) found.regular.push_back(frame);
    if (length != found.length && (lengths[length] < often || length < kShortestFrame)) continue;
    found.told.push_back(frame);
    found.told_length = std::min(found.told_length, length);
  }
}

/// Start, length and check. What a delimited frame begins with may be an address's
/// first octets too: only its first octet is the start's for sure.
std::vector<Taken> taken_by_framing(const fleet::FrameFacts& facts, std::size_t length) {
  std::vector<Taken> out;
  if (!facts.start.empty()) {
    out.push_back({0, facts.framing == fleet::Framing::delimited ? 1 : facts.start.size()});
  }
  if (facts.prefix) {
    const auto at = static_cast<std::size_t>(facts.prefix->at);
    out.push_back({at, at + static_cast<std::size_t>(facts.prefix->octets)});
  }
  if (facts.check) {
    const int at = facts.check->at;
    const auto from = static_cast<std::size_t>(at >= 0 ? at : static_cast<int>(length) + at);
    out.push_back({from, from + static_cast<std::size_t>(facts.check->octets)});
  }
  return out;
}

void find_address(BinaryFound& found, const Sample& sample) {
  const fleet::FrameFacts& facts = found.framing.guess.facts;
  std::vector<const fleet::Octets*> octets;
  octets.reserve(found.told.size());
  for (const CutFrame* const frame : found.told) octets.push_back(&frame->octets);
  const AddressQuestion question{octets, found.taken, found.told_length, !facts.check};
  found.address = find_labels(question, sample.labels);
  found.by_labels = found.address && found.address->bits > 3;
  if (found.by_labels) return;
  const auto few = different_frames(octets, 300);
  found.address = find_nodes({few, found.taken, found.told_length, !facts.check});
}

/// Numbers the nodes by their addresses. Where no check tells what is damaged, an
/// address that came once is taken for a damaged one.
void number_nodes(BinaryFound& found) {
  std::map<std::string, std::size_t> counts;
  const auto name = [&found](const CutFrame& frame) {
    return found.address ? address_text(*found.address, frame.octets) : std::string{};
  };
  for (const CutFrame* const frame : found.told) ++counts[name(*frame)];
  const bool drops_single = !found.framing.guess.facts.check && found.told.size() > counts.size();
  std::map<std::string, std::size_t> numbers;
  for (const CutFrame* const frame : found.told) {
    const std::string text = name(*frame);
    if (drops_single && counts[text] < 2) continue;
    const auto [number, is_new] = numbers.try_emplace(text, numbers.size());
    if (is_new && found.address) found.nodes.push_back(text);
    Framed framed;
    framed.at = frame->at;
    framed.octets = frame->octets;
    framed.node = number->second;
    found.framed.push_back(std::move(framed));
  }
}

/// Which of a node's reports a hand caused: the one that comes with a restarted
/// counter about then, else the first that was not long before it was said.
Framed* provoked_report(BinaryFound& found, const Provoked& provoked) {
  Framed* first = nullptr;
  std::map<std::size_t, const Framed*> before;
  for (Framed& framed : found.framed) {
    const Framed* const last = std::exchange(before[framed.node], &framed);
    const bool fits = found.nodes.empty() || found.nodes[framed.node].ends_with(provoked.digits);
    if (!fits || !framed.at || *framed.at + kSaidLate < provoked.at) continue;
    if (*framed.at > provoked.at + kSaidEarly) break;
    if (last != nullptr && found.counter &&
        is_restart(*found.counter, last->octets, framed.octets)) {
      return &framed;
    }
    if (first == nullptr && *framed.at + kShortlyBefore >= provoked.at) first = &framed;
  }
  return first;
}

void mark_provoked(BinaryFound& found, const Sample& sample) {
  for (const Provoked& provoked : sample.provoked) {
    if (Framed* const report = provoked_report(found, provoked)) report->provoked = true;
  }
  if (found.counter) count_steps(found.framed, *found.counter);
}

void find_fields(BinaryFound& found, const Sample& sample) {
  std::vector<Taken> taken = found.taken;
  const fleet::FrameFacts& facts = found.framing.guess.facts;
  if (facts.start.size() > 1) taken.push_back({0, facts.start.size()});
  if (found.counter) {
    const auto width = static_cast<std::size_t>(found.counter->octets);
    taken.push_back({found.counter->at, found.counter->at + width});
  }
  std::vector<Framed> regular;
  for (const Framed& framed : found.framed) {
    if (framed.octets.size() == found.length) regular.push_back(framed);
  }
  found.fields = guess_fields(regular, taken, found.nodes, sample.values);
}

/// An address that reaches into the start takes these octets back from it.
void give_back_start(BinaryFound& found, const Runs& runs) {
  fleet::FrameFacts& facts = found.framing.guess.facts;
  if (!found.address || found.address->from >= facts.start.size()) return;
  facts.start.resize(found.address->from);
  cut_all(found, runs);
}

/// Fields were found by themselves; in the layout they stand among others.
void point_to_fields(const BinaryFound& found, Learnt& learnt) {
  const std::vector<fleet::FieldLayout>& laid = learnt.frame->fields;
  for (Finding& finding : learnt.findings) {
    if (!finding.field) continue;
    const std::string& name = found.fields.fields[*finding.field].name;
    const auto place = std::find_if(laid.begin(), laid.end(),
                                    [&name](const auto& field) { return field.name == name; });
    finding.field = static_cast<std::size_t>(place - laid.begin());
  }
}

Explained explain(BinaryFound& found, const Sample& sample, std::size_t octets) {
  Explained out;
  Learnt& learnt = out.learnt;
  learnt.findings = binary_findings(found, sample);
  learnt.frame = binary_layout(found);
  point_to_fields(found, learnt);
  learnt.fields = found.fields.facts;
  if (found.counter) {
    learnt.sequence.bits = 8 * found.counter->octets;
    learnt.sequence.starts_at = found.counter->starts_at;
  }
  learnt.example = found.regular.back()->octets;
  learnt.marks = binary_marks(found, *learnt.frame);
  learnt.nodes = found.nodes;
  learnt.frames = found.frames;
  learnt.sound = found.framing.guess.facts.check ? found.sound.size() : found.regular.size();
  learnt.opaque_body = found.fields.opaque;
  std::size_t explained = 0;
  const auto& good = found.framing.guess.facts.check ? found.sound : found.regular;
  for (const CutFrame* const frame : good) explained += frame->taken;
  out.share = static_cast<double>(explained) / static_cast<double>(octets);
  return out;
}

}  // namespace

std::optional<Explained> learn_binary(const Sample& sample) {
  const Runs runs = runs_of(sample, kMostOctets);
  const std::size_t octets = runs.octets();
  if (octets < kFewestOctets) return std::nullopt;
  auto framing = choose_framing(share_of(runs, kFewOctets), all_check_makers());
  if (!framing) return std::nullopt;
  BinaryFound found;
  found.framing = *std::move(framing);
  cut_all(found, runs);
  if (found.regular.size() < kFewestFrames || found.length < kShortestFrame) return std::nullopt;
  found.taken = taken_by_framing(found.framing.guess.facts, found.length);
  find_address(found, sample);
  if (found.address) {
    give_back_start(found, runs);
    if (found.regular.size() < kFewestFrames) return std::nullopt;
    found.taken.push_back({found.address->from, found.address->from + found.address->octets});
  }
  number_nodes(found);
  std::vector<Taken> taken = found.taken;
  if (found.framing.guess.facts.start.size() > 1) {
    taken.push_back({0, found.framing.guess.facts.start.size()});
  }
  found.counter = search_counter(found.framed, taken, found.told_length);
  mark_provoked(found, sample);
  if (found.counter) number_reports(*found.counter, found.framed);
  find_fields(found, sample);
  return explain(found, sample, octets);
}

}  // namespace fieldfare::learn
