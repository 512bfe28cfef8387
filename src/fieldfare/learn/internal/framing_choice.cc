// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/framing_choice.h"

#include <algorithm>
#include <utility>

#include "fieldfare/wire/check.h"

namespace fieldfare::learn {
namespace {

constexpr std::size_t kMostGuesses = 14;
constexpr std::size_t kMostChecked = 64;  // frames by which checks are searched
constexpr double kBitsOfCheck = 17;       // to say which of all checks it is

std::vector<const fleet::Octets*> octets_of(const Cut& cut) {
  std::vector<const fleet::Octets*> out;
  out.reserve(cut.frames.size());
  for (const CutFrame& frame : cut.frames) out.push_back(&frame.octets);
  return out;
}

/// The octets of a check that holds needn't be written down.
double saved_by_check(const FramingGuess& guess) {
  const auto held = static_cast<double>(sound_frames(guess.cut, guess.facts).size());
  return 8 * held * guess.facts.check->octets;
}

TriedFraming with_check(FramingGuess guess, const Runs& few,
                        const std::vector<CheckMaker>& makers) {
  TriedFraming out{std::move(guess), std::nullopt, 0};
  out.bits = out.guess.bits;
  const auto frames = different_frames(octets_of(out.guess.cut), kMostChecked);
  auto check = search_check(frames, out.guess.facts, makers, kMostGuesses);
  if (!check) return out;
  FramingGuess checked = out.guess;
  checked.facts.check = check->facts;
  if (!fleet::faults_of(checked.facts).empty()) return out;
  // Damaged frames are lost to a framing that looks for a check, but they are what
  // the framing explains all the same.
  const double saved = saved_by_check(checked);
  checked.cut = cut_as(checked, few);
  const double recut = explained_bits(checked, few) - saved_by_check(checked);
  checked.bits = std::min(out.bits - saved, recut) + kBitsOfCheck + check->bits_of_custom;
  if (checked.bits >= out.bits) return out;
  out.bits = checked.bits;
  out.guess = std::move(checked);
  out.check = std::move(check);
  return out;
}

bool cut_alike(const Cut& a, const Cut& b) {
  return std::equal(a.frames.begin(), a.frames.end(), b.frames.begin(), b.frames.end(),
                    [](const CutFrame& x, const CutFrame& y) { return x.octets == y.octets; });
}

}  // namespace

std::vector<const CutFrame*> sound_frames(const Cut& cut, const fleet::FrameFacts& facts) {
  std::optional<wire::FrameCheck> check;
  if (facts.check) check.emplace(*facts.check);
  std::vector<const CutFrame*> out;
  for (const CutFrame& frame : cut.frames) {
    if (!check || check->holds(frame.octets)) out.push_back(&frame);
  }
  return out;
}

std::vector<TriedFraming> try_framings(const Runs& few, const std::vector<CheckMaker>& makers) {
  std::vector<TriedFraming> tried;
  for (FramingGuess& guess : guess_framings(few, kMostGuesses)) {
    tried.push_back(with_check(std::move(guess), few, makers));
  }
  std::stable_sort(tried.begin(), tried.end(),
                   [](const TriedFraming& a, const TriedFraming& b) { return a.bits < b.bits; });
  return tried;
}

std::optional<FramingChoice> choose_framing(const Runs& few,
                                            const std::vector<CheckMaker>& makers) {
  std::vector<TriedFraming> tried = try_framings(few, makers);
  if (tried.empty()) return std::nullopt;
  FramingChoice out;
  out.bits_saved = 8.0 * static_cast<double>(few.octets()) - tried.front().bits;
  out.bits_ahead = out.bits_saved;
  for (const TriedFraming& other : std::span{tried}.subspan(1)) {
    if (cut_alike(other.guess.cut, tried.front().guess.cut)) {
      out.alike.push_back(other.guess.facts);
    } else if (!out.rival) {
      out.bits_ahead = other.bits - tried.front().bits;
      out.rival = other.guess.facts;
    }
  }
  out.guess = std::move(tried.front().guess);
  out.check = std::move(tried.front().check);
  return out;
}

}  // namespace fieldfare::learn
