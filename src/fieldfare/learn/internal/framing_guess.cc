// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/framing_guess.h"

#include <algorithm>
#include <functional>
#include <map>
#include <string_view>
#include <utility>

#include "fieldfare/learn/internal/code_length.h"
#include "fieldfare/learn/internal/framing_custom.h"
#include "fieldfare/learn/internal/grams.h"
#include "fieldfare/learn/internal/length_chains.h"

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
  return static_cast<std::size_t>(prefix.at) + static_cast<std::size_t>(prefix.octets);
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

std::vector<std::size_t> hashes_of(const Cut& cut) {
  std::vector<std::size_t> out;
  out.reserve(cut.frames.size());
  for (const CutFrame& frame : cut.frames) {
    const auto* const signs = reinterpret_cast<const char*>(frame.octets.data());
    out.push_back(std::hash<std::string_view>{}({signs, frame.octets.size()}));
  }
  std::sort(out.begin(), out.end());
  return out;
}

/// True where nine of ten frames are the same.
bool are_alike(const std::vector<std::size_t>& a, const std::vector<std::size_t>& b) {
  std::size_t same = 0;
  for (auto x = a.begin(), y = b.begin(); x != a.end() && y != b.end();) {
    same += *x == *y ? 1 : 0;
    const bool advances_both = *x == *y;
    const bool is_less = *x < *y;
    if (advances_both || is_less) ++x;
    if (advances_both || !is_less) ++y;
  }
  return 10 * same >= 9 * std::max(a.size(), b.size());
}

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
    try_bare_prefixes();
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
    std::vector<std::vector<std::size_t>> known;
    for (FramingGuess& guess : guesses_) {
      if (out.size() == most) break;
      std::vector<std::size_t> frames = hashes_of(guess.cut);
      const auto alike = std::count_if(known.begin(), known.end(), [&frames](const auto& other) {
        return are_alike(frames, other);
      });
      if (alike >= kMostAlike) continue;
      known.push_back(std::move(frames));
      out.push_back(std::move(guess));
    }
    return out;
  }

 private:
  static constexpr std::ptrdiff_t kMostAlike = 3;  // that cut nearly the same frames

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
      if (const auto number = number_in(runs_.runs[place.run].octets, place.at, prefix)) {
        left_out.add(static_cast<std::int64_t>(place.distance) - *number);
      }
    }
    for (const auto& [adds, count] : left_out.best(2)) {
      const auto most = static_cast<std::int64_t>(head_of(prefix)) + kMostAdded;
      if (count < 3 || adds < -kMostAdded || adds > most) continue;
      prefix.adds = static_cast<int>(adds);
      Votes lengths;
      for (const Spacing& place : places) {
        if (const auto number = number_in(runs_.runs[place.run].octets, place.at, prefix))
          lengths.add(*number + adds);
      }
      std::vector<std::size_t> kept;
      for (const auto& [length, times] : lengths.best(64)) {
        if (times >= 2 && length > static_cast<std::int64_t>(head_of(prefix)) &&
            length <= static_cast<std::int64_t>(kLongestLearnt)) {
          kept.push_back(static_cast<std::size_t>(length));
        }
      }
      // A length that never varies may be any constant: only the usual ones count.
      const bool is_apart = prefix.at > static_cast<int>(start.size());
      if (kept.empty()) continue;
      if (kept.size() < 2 && !is_usual_length(prefix, is_apart ? 0 : start.size())) continue;
      FrameFacts facts = facts_of(Framing::length_prefixed);
      facts.start = start;
      facts.prefix = prefix;
      add(facts, std::move(kept));
    }
  }

  void try_end(const Octets& end) {
    FrameFacts facts = facts_of(Framing::delimited);
    facts.end = end;
    add(facts);
  }

  /// A length in front of the frame, without start.
  void try_bare_prefixes() {
    for (int at = 0; at <= kFarthestPrefix; ++at) {
      for (const int width : {1, 2}) {
        for (const auto order : {fleet::ByteOrder::big, fleet::ByteOrder::little}) {
          if (width == 1 && order == fleet::ByteOrder::little) continue;
          for (int adds = 0; adds <= at + width + 4; ++adds) try_bare({at, width, order, adds});
        }
      }
    }
  }

  void try_bare(const LengthPrefix& prefix) {
    if (!is_usual_length(prefix, 0)) return;
    std::vector<std::size_t> lengths = chained_lengths(runs_, prefix);
    if (lengths.empty()) return;
    FrameFacts facts = facts_of(Framing::length_prefixed);
    facts.prefix = prefix;
    if (lengths.size() > 1) add(facts, {lengths.front()});
    add(facts, std::move(lengths));
  }

  const Runs& runs_;
  double raw_bits_;
  std::vector<FramingGuess> guesses_;
};

}  // namespace

fleet::FieldLayout all_octets() {
  fleet::FieldLayout out;
  out.name = "octets";
  out.role = fleet::FieldRole::part;
  out.place = fleet::AtOctet{std::nullopt, fleet::OctetsForm{}};
  return out;
}

double explained_bits(const FramingGuess& guess, const Runs& runs) {
  return code_length_bits(guess.cut, guess.facts) +
         bits_of_custom(guess.facts, guess.cut.frames.size()) -
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
