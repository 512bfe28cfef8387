// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/framing_choice.h"

#include <algorithm>
#include <utility>

#include "fieldfare/learn/internal/odds.h"
#include "fieldfare/wire/check.h"

namespace fieldfare::learn {
namespace {

constexpr std::size_t kMostGuesses = 16;
constexpr std::size_t kMostChecked = 64;  // frames by which checks are searched
constexpr double kBitsOfCheck = 17;       // to say which of all checks it is
constexpr double kBitsOfSureCheck = 150;

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
  // In frames that are cut wrongly no check holds: one that does says more than the
  // octets it saves.
  if (sureness_of(check->bits) == Sureness::certain) checked.bits -= kBitsOfSureCheck;
  if (checked.bits >= out.bits) return out;
  out.bits = checked.bits;
  out.guess = std::move(checked);
  out.check = std::move(check);
  return out;
}

/// Octets of no order may hold a start or an end. Where all sound frames of a device
/// are of one length, that length tells where frames end as well, and better.
void settle_length(FramingGuess& guess, const Runs& few) {
  constexpr std::size_t kFewest = 8;
  const fleet::FrameFacts& facts = guess.facts;
  if (facts.framing != fleet::Framing::delimited || facts.length || !facts.check) return;
  const std::vector<const CutFrame*> sound = sound_frames(guess.cut, facts);
  if (sound.size() < kFewest) return;
  const std::size_t length = sound.front()->octets.size();
  const bool are_alike = std::all_of(sound.begin(), sound.end(), [length](const CutFrame* frame) {
    return frame->octets.size() == length;
  });
  if (!are_alike) return;
  FramingGuess settled = guess;
  settled.facts.length = static_cast<int>(length + facts.end.size());
  if (!fleet::faults_of(settled.facts).empty()) return;
  settled.cut = cut(few, settled.facts);
  if (10 * settled.cut.frames.size() >= 8 * sound.size()) guess = std::move(settled);
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
  settle_length(out.guess, few);
  return out;
}

}  // namespace fieldfare::learn
