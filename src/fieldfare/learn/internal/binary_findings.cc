// SPDX-License-Identifier: Apache-2.0
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "fieldfare/learn/internal/binary_kind.h"
#include "fieldfare/learn/internal/binary_words.h"
#include "fieldfare/learn/internal/odds.h"

namespace fieldfare::learn {
namespace {

/// Descriptions with equal claims: the one told is likely only where it is much
/// more usual (2^5 to one) than the others.
constexpr double kMoreUsual = 5;

/// A code length is no probability: what it doesn't know of the octets, damage above
/// all, shifts it by tens of bits either way. Devices made up by chance bore this out.
constexpr double kTrustInCodeLength = 0.2;

Finding framing_finding(const BinaryFound& found) {
  const FramingChoice& choice = found.framing;
  const double bits = kTrustInCodeLength * std::min(choice.bits_saved, choice.bits_ahead);
  Finding out{"framing", sureness_of(bits), {}};
  out.what = fmt::format("{}: {} frames, {} of them of {} octets", framing_text(choice.guess.facts),
                         found.frames, found.regular.size(), found.length);
  if (choice.rival && out.sureness != Sureness::certain) {
    out.decides =
        "more frames, of another length too; else it may be " + framing_text(*choice.rival);
  }
  return out;
}

Finding length_finding(const BinaryFound& found) {
  std::map<std::size_t, std::size_t> lengths;
  for (const CutFrame* const frame : found.sound) ++lengths[frame->octets.size()];
  Finding out{"length", Sureness::likely, {}};
  const bool is_checked = found.framing.guess.facts.check.has_value();
  if (is_checked && found.regular.size() >= 5) out.sureness = Sureness::certain;
  out.what = fmt::format("{} of {} sound frames have {} octets", found.regular.size(),
                         found.sound.size(), found.length);
  if (found.framing.guess.facts.prefix && lengths.size() == 1) {
    out.sureness = Sureness::likely;
    out.decides = "a frame of another length: all had the same so far";
  }
  return out;
}

Finding no_check_finding(const BinaryFound& found) {
  Finding out{"check", Sureness::open, {}};
  out.what = fmt::format(
      "no CRC of the catalogue, sum or exclusive or holds for more of the {} frames than chance "
      "gives: there is no check, or one of another kind",
      found.cut.frames.size());
  out.decides = "the maker's description of the check";
  return out;
}

Finding check_finding(const BinaryFound& found) {
  const CheckGuess& check = *found.framing.check;
  // In frames that might be cut otherwise another check might hold.
  const Sureness framing = framing_finding(found).sureness;
  Finding out{"check", std::max(sureness_of(check.bits), framing), {}};
  const double by_chance = static_cast<double>(check.of) /
                           static_cast<double>(std::uint64_t{1} << 8 * check.facts.octets);
  out.what = fmt::format("{} holds for {} of {} frames; by chance it would for {}",
                         check_text(check.facts, found.length), check.held, check.of,
                         by_chance < 0.5 ? std::string{"none"} : fmt::format("{:.0f}", by_chance));
  if (check.rivals.empty()) return out;
  const bool is_usual = check.rival_custom >= check.bits_of_custom + kMoreUsual;
  out.sureness = std::max(out.sureness, is_usual ? Sureness::likely : Sureness::guess);
  constexpr std::size_t kNamed = 3;
  out.decides =
      "frames that differ in octets which were the same in all so far, or of another length: ";
  for (std::size_t i = 0; i < std::min(kNamed, check.rivals.size()); ++i) {
    out.decides += (i == 0 ? "" : "; ") + check_text(check.rivals[i], found.length);
  }
  if (check.rivals.size() > kNamed) {
    out.decides += fmt::format("; and {} others", check.rivals.size() - kNamed);
  }
  out.decides += " hold as often";
  return out;
}

Finding address_finding(const BinaryFound& found, const Sample& sample) {
  if (!found.address) {
    return {"address", Sureness::open, "no octets tell nodes apart",
            "the last digits of two nodes' labels, and a report of each"};
  }
  const AddressGuess& address = *found.address;
  Finding out{"address", Sureness::guess, {}};
  const std::string place =
      fmt::format("octets from {} on, {}", address.from, width_text(address.octets, address.order));
  if (!found.by_labels) {
    out.what =
        fmt::format("{} tell {} nodes apart whose counters step best", place, found.nodes.size());
    out.decides = "the last four digits or more of a node's label";
    return out;
  }
  out.sureness = sureness_of(address.bits);
  out.what = fmt::format("the digits of {} of {} labels stand in {}, in {} of {} frames; {} nodes",
                         address.labels, sample.labels.size(), place, address.matched,
                         found.regular.size(), found.nodes.size());
  if (address.width_is_open) {
    out.sureness = std::max(out.sureness, Sureness::likely);
    out.decides = fmt::format(
        "all digits of a label: the digits given vouch for {} octets, those beside never change",
        address.digits);
  }
  return out;
}

std::string decides_counter(const CounterGuess& counter, const BinaryFound& found) {
  if (counter.octets == 1 && counter.rival_octets == 0) return {};
  const int low_bits =
      8 * std::min(counter.octets, counter.rival_octets == 0 ? 4 : counter.rival_octets);
  const std::uint64_t wrap = std::uint64_t{1} << std::min(low_bits, 32);
  std::uint64_t highest = 0;
  for (const Framed& framed : found.framed) {
    highest = std::max(highest, count_in(counter, framed.octets) % wrap);
  }
  return fmt::format(
      "whether the octets beside change when the counter passes {}: {} more reports of one node",
      wrap - 1, wrap - highest);
}

Finding counter_finding(const BinaryFound& found) {
  if (!found.counter) {
    return {"counter", Sureness::open, "no octets count the reports of each node",
            "more reports of each node, one after the other"};
  }
  const CounterGuess& counter = *found.counter;
  Finding out{"counter", sureness_of(std::min(counter.bits, counter.bits_ahead)), {}};
  out.what =
      fmt::format("octets from {} on, {}, step by one in {} of {} cases, by 2 to 255 in {}",
                  counter.at, width_text(static_cast<std::size_t>(counter.octets), counter.order),
                  counter.by_one, counter.steps, counter.forward);
  if (counter.starts_at) {
    out.what +=
        fmt::format("; they restarted {} times, from {} on", counter.restarts, *counter.starts_at);
  }
  if (out.sureness != Sureness::certain) out.decides = decides_counter(counter, found);
  return out;
}

std::optional<Finding> kinds_finding(const BinaryFound& found) {
  std::map<std::size_t, std::size_t> lengths;
  for (const CutFrame* const frame : found.sound) ++lengths[frame->octets.size()];
  std::string others;
  for (const auto& [length, count] : lengths) {
    if (length == found.length || count < 2) continue;
    others += fmt::format("{}{} of {} octets", others.empty() ? "" : ", ", count, length);
  }
  if (others.empty()) return std::nullopt;
  return Finding{"kinds", Sureness::open,
                 "frames of other lengths came too: " + others + "; fields were sought in the " +
                     std::to_string(found.length) + " octets of the commonest",
                 "a sheet of their own for the others, by `equals` on an octet that differs"};
}

}  // namespace

std::vector<Finding> binary_findings(const BinaryFound& found, const Sample& sample) {
  std::vector<Finding> out;
  out.push_back(framing_finding(found));
  out.push_back(length_finding(found));
  out.push_back(found.framing.check ? check_finding(found) : no_check_finding(found));
  out.push_back(address_finding(found, sample));
  out.push_back(counter_finding(found));
  for (const Finding& finding : found.fields.findings) out.push_back(finding);
  if (auto kinds = kinds_finding(found)) out.push_back(*std::move(kinds));
  return out;
}

}  // namespace fieldfare::learn
