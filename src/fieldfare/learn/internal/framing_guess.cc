// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/framing_guess.h"

#include <algorithm>
#include <map>
#include <tuple>
#include <utility>

#include "fieldfare/learn/internal/code_length.h"
#include "fieldfare/learn/internal/grams.h"

namespace fieldfare::learn {
namespace {

using fleet::FrameFacts;
using fleet::Framing;
using fleet::LengthPrefix;
using fleet::Octets;

constexpr std::size_t kLongestLearnt = 512;  // octets of a frame whose length is guessed
constexpr int kFarthestPrefix = 3;           // octets between start and length
constexpr int kMostAdded = 8;                // octets that a length leaves out beyond its own

FrameFacts facts_of(Framing framing) {
  FrameFacts out;
  out.framing = framing;
  out.fields.push_back(all_octets());
  return out;
}

std::size_t head_of(const LengthPrefix& prefix) {
  return static_cast<std::size_t>(prefix.at + prefix.octets);
}

/// Lengths count all, all behind themselves (with or without a check of 1, 2 or 4
/// octets), or all behind the start. Common practice.
bool is_usual(const LengthPrefix& prefix, std::size_t start) {
  const int behind = prefix.adds - prefix.at - prefix.octets;
  return prefix.adds == 0 || prefix.adds == static_cast<int>(start) || behind == 0 || behind == 1 ||
         behind == 2 || behind == 4;
}

bool is_usual_end(const Octets& end) {
  static const Octets kUsual[] = {{0x0A}, {0x0D}, {0x0D, 0x0A}, {0x03}, {0x04}, {0x16},
                                  {0x55}, {0x7E}, {0xAA},       {0xEE}, {0xC0}, {0xFF}};
  return std::find(std::begin(kUsual), std::end(kUsual), end) != std::end(kUsual);
}

/// Counts, and hands out what came most often.
class Votes {
 public:
  void add(std::int64_t value) { ++counts_[value]; }
  std::vector<std::pair<std::int64_t, std::size_t>> best(std::size_t most) const {
    std::vector<std::pair<std::int64_t, std::size_t>> out(counts_.begin(), counts_.end());
    std::stable_sort(out.begin(), out.end(),
                     [](const auto& a, const auto& b) { return a.second > b.second; });
    out.resize(std::min(out.size(), most));
    return out;
  }

 private:
  std::map<std::int64_t, std::size_t> counts_;
};

class Guesser {
 public:
  explicit Guesser(const Runs& runs)
      : runs_{runs}, raw_bits_{8.0 * static_cast<double>(runs.octets())} {}

  void try_all() {
    if (runs_.whole) add(facts_of(Framing::none));
    for (const Framing framing : {Framing::slip, Framing::hdlc, Framing::cobs}) {
      add(facts_of(framing));
    }
    for (const auto& [width, most] : {std::pair{std::size_t{1}, std::size_t{10}},
                                      {std::size_t{2}, std::size_t{12}},
                                      {std::size_t{3}, std::size_t{8}},
                                      {std::size_t{4}, std::size_t{4}}}) {
      for (const Gram& gram : frequent_grams(runs_, width, most)) try_start(gram.octets);
    }
    for (const std::size_t width : {std::size_t{1}, std::size_t{2}}) {
      for (const Gram& gram : frequent_grams(runs_, width, 8)) try_end(gram.octets);
    }
    for (const Gram& gram : frequent_grams(runs_, 1, 12)) try_bare_prefix(gram.octets[0]);
    join_bare_prefixes();
  }

  std::vector<FramingGuess> best(std::size_t most) {
    std::stable_sort(guesses_.begin(), guesses_.end(),
                     [](const FramingGuess& a, const FramingGuess& b) { return a.bits < b.bits; });
    // The framings of standards are tried further in any case: they have no choice of
    // octets by which they could fit themselves to damage.
    std::stable_partition(guesses_.begin(), guesses_.end(), [this](const FramingGuess& guess) {
      const bool is_delimited = guess.facts.framing == Framing::delimited;
      return !is_delimited && 2 * guess.cut.lost < runs_.octets() &&
             guess.facts.framing != Framing::length_prefixed;
    });
    std::vector<FramingGuess> out;
    std::map<std::tuple<Framing, bool, bool, bool>, std::size_t> of_shape;
    for (FramingGuess& guess : guesses_) {
      if (out.size() == most) break;
      const FrameFacts& facts = guess.facts;
      const auto shape = std::tuple{facts.framing, facts.start.empty(), facts.end.empty(),
                                    facts.length.has_value()};
      if (++of_shape[shape] <= kMostOfShape) out.push_back(std::move(guess));
    }
    return out;
  }

 private:
  static constexpr std::size_t kMostOfShape = 4;

  void add(const FrameFacts& facts, std::vector<std::size_t> lengths = {}) {
    FramingGuess guess{facts, std::move(lengths), 0, {}};
    if (!fleet::faults_of(facts).empty()) return;
    guess.cut = cut_as(guess, runs_);
    if (guess.cut.frames.size() < 2) return;
    guess.bits = explained_bits(guess, runs_);
    if (guess.bits < raw_bits_ || facts.framing == Framing::none) {
      guesses_.push_back(std::move(guess));
    }
  }

  void try_start(const Octets& start) {
    const std::vector<Spacing> places = spacings(runs_, start);
    if (places.size() < 3) return;
    FrameFacts facts = facts_of(Framing::delimited);
    facts.start = start;
    add(facts);
    Votes distances;
    Votes before;
    for (const Spacing& place : places) {
      distances.add(static_cast<std::int64_t>(place.distance));
      const Octets& octets = runs_.runs[place.run].octets;
      const std::size_t next = place.at + place.distance;
      before.add(octets[next - 1]);
      before.add(0x1'0000 | octets[next - 2 < next ? next - 2 : next - 1] << 8 | octets[next - 1]);
    }
    for (const auto& [length, count] : distances.best(3)) {
      if (count < 2 || length > static_cast<std::int64_t>(kLongestLearnt)) continue;
      facts.length = static_cast<int>(length);
      add(facts);
    }
    for (const auto& [value, count] : before.best(4)) {
      if (3 * count >= places.size()) try_start_and_end(start, value, distances);
    }
    try_prefixes(start, places);
  }

  void try_start_and_end(const Octets& start, std::int64_t coded_end, const Votes& distances) {
    FrameFacts facts = facts_of(Framing::delimited);
    facts.start = start;
    facts.end = {static_cast<std::uint8_t>(coded_end)};
    if (coded_end > 0xFFFF) {
      facts.end.insert(facts.end.begin(), static_cast<std::uint8_t>(coded_end >> 8));
    }
    add(facts);
    const auto usual = distances.best(1).front().first;
    if (usual > static_cast<std::int64_t>(kLongestLearnt)) return;
    facts.length = static_cast<int>(usual);
    add(facts);
  }

  void try_prefixes(const Octets& start, const std::vector<Spacing>& places) {
    const auto first = static_cast<int>(start.size());
    for (int at = first; at <= first + kFarthestPrefix; ++at) {
      for (const int width : {1, 2}) {
        for (const auto order : {fleet::ByteOrder::big, fleet::ByteOrder::little}) {
          if (width == 1 && order == fleet::ByteOrder::little) continue;
          try_prefix(start, {at, width, order, 0}, places);
        }
      }
    }
  }

  /// Where the octets at the length's place and the distance to the next start
  /// differ by the same number again and again.
  void try_prefix(const Octets& start, LengthPrefix prefix, const std::vector<Spacing>& places) {
    Votes left_out;
    for (const Spacing& place : places) {
      if (const auto number = number_at(place.run, place.at, prefix)) {
        left_out.add(static_cast<std::int64_t>(place.distance) - *number);
      }
    }
    for (const auto& [adds, count] : left_out.best(2)) {
      const auto most = static_cast<std::int64_t>(head_of(prefix)) + kMostAdded;
      if (count < 3 || adds < -kMostAdded || adds > most) continue;
      prefix.adds = static_cast<int>(adds);
      Votes lengths;
      for (const Spacing& place : places) {
        if (const auto number = number_at(place.run, place.at, prefix)) lengths.add(*number + adds);
      }
      std::vector<std::size_t> kept;
      for (const auto& [length, times] : lengths.best(64)) {
        if (times >= 2 && length > 0 && length <= static_cast<std::int64_t>(kLongestLearnt)) {
          kept.push_back(static_cast<std::size_t>(length));
        }
      }
      // A length that never varies may be any constant: only the usual ones count.
      if (kept.size() < 2 && !is_usual(prefix, start.size())) continue;
      FrameFacts facts = facts_of(Framing::length_prefixed);
      facts.start = start;
      facts.prefix = prefix;
      add(facts, std::move(kept));
    }
  }

  std::optional<std::int64_t> number_at(std::size_t run, std::size_t at,
                                        const LengthPrefix& prefix) const {
    const Octets& octets = runs_.runs[run].octets;
    if (at + head_of(prefix) > octets.size()) return std::nullopt;
    const std::size_t place = at + static_cast<std::size_t>(prefix.at);
    if (prefix.octets == 1) return octets[place];
    const bool is_big = prefix.order == fleet::ByteOrder::big;
    return octets[place + (is_big ? 0 : 1)] << 8 | octets[place + (is_big ? 1 : 0)];
  }

  void try_end(const Octets& end) {
    FrameFacts facts = facts_of(Framing::delimited);
    facts.end = end;
    add(facts);
  }

  /// A length in front of the frame, without start: its octet comes too often.
  void try_bare_prefix(std::uint8_t number) {
    for (int at = 0; at <= kFarthestPrefix; ++at) {
      for (const int width : {1, 2}) {
        for (const auto order : {fleet::ByteOrder::big, fleet::ByteOrder::little}) {
          if (width == 1 && order == fleet::ByteOrder::little) continue;
          for (int behind = 0; behind <= 4; ++behind) {
            try_bare({at, width, order, at + width + behind}, number);
          }
          for (int adds = 0; adds < at + width; ++adds) try_bare({at, width, order, adds}, number);
        }
      }
    }
  }

  void try_bare(const LengthPrefix& prefix, std::uint8_t number) {
    if (!is_usual(prefix, 0)) return;
    const int length = number + prefix.adds;
    if (length < static_cast<int>(head_of(prefix)) + 3) return;
    FrameFacts facts = facts_of(Framing::length_prefixed);
    facts.prefix = prefix;
    const std::size_t before = guesses_.size();
    add(facts, {static_cast<std::size_t>(length)});
    if (guesses_.size() > before) {
      bare_[{prefix.at, prefix.octets, static_cast<int>(prefix.order), prefix.adds}].push_back(
          static_cast<std::size_t>(length));
    }
  }

  /// Frames of several lengths, each found by itself.
  void join_bare_prefixes() {
    for (const auto& [key, lengths] : bare_) {
      if (lengths.size() < 2) continue;
      FrameFacts facts = facts_of(Framing::length_prefixed);
      facts.prefix =
          LengthPrefix{std::get<0>(key), std::get<1>(key),
                       static_cast<fleet::ByteOrder>(std::get<2>(key)), std::get<3>(key)};
      add(facts, lengths);
    }
  }

  const Runs& runs_;
  double raw_bits_;
  std::vector<FramingGuess> guesses_;
  std::map<std::tuple<int, int, int, int>, std::vector<std::size_t>> bare_;
};

}  // namespace

double bits_of_custom(const FrameFacts& facts) {
  switch (facts.framing) {
    case Framing::none:
      return -20;
    case Framing::slip:
    case Framing::hdlc:
    case Framing::cobs:
      return -60;
    case Framing::line:
      return 0;
    case Framing::length_prefixed:
      return (facts.start.empty() ? 2 : 0) + (is_usual(*facts.prefix, facts.start.size()) ? 0 : 5) +
             (facts.prefix->at == static_cast<int>(facts.start.size()) ? 0 : 2) +
             (facts.start.size() > 2 ? 2 : 0);
    case Framing::delimited:
      break;
  }
  double bits = facts.start.empty() ? 20 : facts.start.size() > 2 ? 2 : 0;
  if (facts.start.size() == 1) bits += 0.5;
  if (!facts.end.empty()) bits += is_usual_end(facts.end) ? -2 : 3;
  if (!facts.length) bits += facts.end.empty() ? 12 : 2;
  return bits;
}

fleet::FieldLayout all_octets() {
  fleet::FieldLayout out;
  out.name = "octets";
  out.role = fleet::FieldRole::part;
  out.place = fleet::AtOctet{std::nullopt, fleet::OctetsForm{}};
  return out;
}

double explained_bits(const FramingGuess& guess, const Runs& runs) {
  return code_length_bits(guess.cut, guess.facts) + bits_of_custom(guess.facts) -
         bits_of_arrivals(guess.cut, runs.arrivals(), runs.octets());
}

Cut cut_as(const FramingGuess& guess, const Runs& runs) {
  if (guess.facts.framing == Framing::length_prefixed && !guess.facts.check) {
    return cut_by_lengths(runs, guess.facts, guess.lengths);
  }
  return cut(runs, guess.facts);
}

std::vector<FramingGuess> guess_framings(const Runs& runs, std::size_t most) {
  Guesser guesser{runs};
  guesser.try_all();
  return guesser.best(most);
}

}  // namespace fieldfare::learn
