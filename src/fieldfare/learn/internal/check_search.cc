// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/learn/internal/check_search.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <string_view>

#include "fieldfare/learn/internal/odds.h"

namespace fieldfare::learn {
namespace {

using fleet::ByteOrder;
using fleet::CheckFacts;
using fleet::Octets;

constexpr std::size_t kMostLeftOut = 8;  // octets in front that a check may leave out
constexpr std::size_t kMostBehind = 8;   // octets behind a check near the end
constexpr std::size_t kFarthestMiddle = 64;
constexpr std::size_t kFarthestFront = 12;
constexpr std::size_t kMostSkipped = 1;  // octets between a check in front and its span
constexpr std::size_t kMostTail = 2;     // octets at the end that such a span leaves out
constexpr std::size_t kLeastSpan = 3;
constexpr std::size_t kMostKept = 64;

/// Where a check may stand and what it may cover.
struct Place {
  enum class Kind : std::uint8_t { near_end, middle, front };
  Kind kind = Kind::near_end;
  std::size_t where = 0;  ///< octets behind the check; else octets before it
  std::size_t from = 0;
  std::size_t tail = 0;  ///< front: octets at the end that aren't covered
};

struct Stretch {
  std::size_t at = 0;
  std::size_t from = 0;
  std::size_t to = 0;
};

std::optional<Stretch> stretch_of(const Place& place, std::size_t width, std::size_t length) {
  if (length < width + kLeastSpan + place.where + place.tail) return std::nullopt;
  const std::size_t at =
      place.kind == Place::Kind::near_end ? length - width - place.where : place.where;
  const bool is_front = place.kind == Place::Kind::front;
  const std::size_t to = is_front ? length - place.tail : at;
  if (to < place.from + kLeastSpan) return std::nullopt;
  return Stretch{at, place.from, to};
}

std::vector<Place> places_for(std::size_t width, std::size_t usual) {
  std::vector<Place> out;
  for (std::size_t from = 0; from <= kMostLeftOut; ++from) {
    for (std::size_t behind = 0; behind <= kMostBehind; ++behind) {
      out.push_back({Place::Kind::near_end, behind, from, 0});
    }
    const std::size_t near_end = width + kMostBehind;
    for (std::size_t at = from + kLeastSpan; at + near_end < usual && at < kFarthestMiddle; ++at) {
      out.push_back({Place::Kind::middle, at, from, 0});
    }
  }
  for (std::size_t at = 0; at <= kFarthestFront; ++at) {
    for (std::size_t skipped = 0; skipped <= kMostSkipped; ++skipped) {
      for (std::size_t tail = 0; tail <= kMostTail; ++tail) {
        out.push_back({Place::Kind::front, at, at + width + skipped, tail});
      }
    }
  }
  return out;
}

std::uint32_t read_at(const Octets& frame, std::size_t at, std::size_t width, ByteOrder order) {
  std::uint32_t out = 0;
  for (std::size_t i = 0; i < width; ++i) {
    out = out << 8 | frame[at + (order == ByteOrder::big ? i : width - 1 - i)];
  }
  return out;
}

constexpr ByteOrder kOrders[] = {ByteOrder::little, ByteOrder::big};

struct Candidate {
  const CheckMaker* maker = nullptr;
  Place place;
  ByteOrder order = ByteOrder::little;
  std::size_t held = 0;
  std::size_t of = 0;
  double bits = 0;
  double custom = 0;
};

class Search {
 public:
  Search(std::span<const Octets* const> frames, const fleet::FrameFacts& framing)
      : frames_{frames}, framing_{framing} {
    std::map<std::size_t, std::size_t> lengths;
    for (const Octets* const frame : frames) ++lengths[frame->size()];
    for (const auto& [length, count] : lengths) {
      if (count > lengths[usual_]) usual_ = length;
    }
  }

  /// Counts how often each place holds for one kind of check.
  void try_maker(const CheckMaker& maker) {
    const auto width = static_cast<std::size_t>(maker.octets);
    const std::vector<Place> places = places_for(width, usual_);
    tried_ += 2 * places.size();
    std::map<std::size_t, std::vector<std::size_t>> by_from;
    for (std::size_t i = 0; i < places.size(); ++i) by_from[places[i].from].push_back(i);
    std::vector<std::array<std::size_t, 3>> counts(places.size());  // little, big, with room
    std::vector<std::uint32_t> values;
    for (const Octets* const frame : frames_) {
      for (const auto& [from, of_from] : by_from) {
        if (from + kLeastSpan >= frame->size()) continue;
        running_checks(maker, std::span{*frame}.subspan(from), values);
        for (const std::size_t i : of_from) count(places[i], *frame, values, width, counts[i]);
      }
    }
    for (std::size_t i = 0; i < places.size(); ++i) {
      for (std::size_t order = 0; order < (width == 1 ? 1U : 2U); ++order) {
        keep({&maker, places[i], kOrders[order], counts[i][order], counts[i][2]});
      }
    }
  }

  std::optional<CheckGuess> best(std::size_t tries) {
    const double hypotheses =
        std::log2(static_cast<double>(std::max<std::size_t>(tried_, 1) * tries));
    std::vector<Candidate> sure;
    for (Candidate& candidate : kept_) {
      weigh(candidate, hypotheses);
      if (sureness_of(candidate.bits) != Sureness::guess) sure.push_back(candidate);
    }
    if (sure.empty()) return std::nullopt;
    std::stable_sort(sure.begin(), sure.end(),
                     [](const Candidate& a, const Candidate& b) { return worth(a) > worth(b); });
    const Candidate& first = sure.front();
    CheckGuess out{facts_of(first), first.held, first.of, first.bits, first.custom, 0, {}};
    const std::size_t slack = std::max<std::size_t>(1, first.held / 20);
    std::vector<const Candidate*> rivals;
    for (const Candidate& other : std::span{sure}.subspan(1)) {
      if (other.held + slack >= first.held) rivals.push_back(&other);
    }
    std::stable_sort(rivals.begin(), rivals.end(),
                     [](const Candidate* a, const Candidate* b) { return a->custom < b->custom; });
    if (!rivals.empty()) out.rival_custom = rivals.front()->custom;
    for (const Candidate* const rival : rivals) out.rivals.push_back(facts_of(*rival));
    return out;
  }

 private:
  /// A frame more that holds is worth several bits of custom: chance alone seldom
  /// gives it, damage to octets that aren't covered may.
  static double worth(const Candidate& candidate) {
    return 4 * static_cast<double>(candidate.held) - candidate.custom;
  }

  void count(const Place& place, const Octets& frame, const std::vector<std::uint32_t>& values,
             std::size_t width, std::array<std::size_t, 3>& into) const {
    if (place.kind == Place::Kind::middle && frame.size() != usual_) return;
    const std::optional<Stretch> stretch = stretch_of(place, width, frame.size());
    if (!stretch) return;
    ++into[2];
    const std::uint32_t due = values[stretch->to - stretch->from];
    for (std::size_t order = 0; order < 2; ++order) {
      if (read_at(frame, stretch->at, width, kOrders[order]) == due) ++into[order];
    }
  }

  void keep(const Candidate& candidate) {
    const double bits =
        bits_against_chance(candidate.held, candidate.of, 8.0 * candidate.maker->octets);
    if (candidate.held < 2 || bits < 8) return;
    kept_.push_back(candidate);
    if (kept_.size() < 4 * kMostKept) return;
    std::stable_sort(kept_.begin(), kept_.end(),
                     [](const Candidate& a, const Candidate& b) { return a.held > b.held; });
    kept_.resize(kMostKept);
  }

  /// Frames whose check has a value that another had are no new evidence.
  void weigh(Candidate& candidate, double hypotheses) const {
    const auto width = static_cast<std::size_t>(candidate.maker->octets);
    std::set<std::uint32_t> different;
    std::vector<std::uint32_t> values;
    for (const Octets* const frame : frames_) {
      if (candidate.place.kind == Place::Kind::middle && frame->size() != usual_) continue;
      const std::optional<Stretch> stretch = stretch_of(candidate.place, width, frame->size());
      if (!stretch) continue;
      running_checks(*candidate.maker,
                     std::span{*frame}.subspan(stretch->from, stretch->to - stretch->from), values);
      if (read_at(*frame, stretch->at, width, candidate.order) == values.back()) {
        different.insert(values.back());
      }
    }
    // The first value may be a constant's.
    const std::size_t counted = different.empty() ? 0 : different.size() - 1;
    candidate.bits =
        std::max(0.0, bits_against_chance(counted, candidate.of, 8.0 * candidate.maker->octets) -
                          hypotheses);
    candidate.custom = custom_of(candidate);
  }

  static CheckFacts facts_of(const Candidate& candidate) {
    CheckFacts out;
    out.kind = candidate.maker->kind;
    if (candidate.maker->model != nullptr) out.crc = candidate.maker->model->name;
    out.octets = candidate.maker->octets;
    out.complement = candidate.maker->complement;
    out.order = out.octets == 1 ? usual_order(*candidate.maker) : candidate.order;
    out.from = static_cast<int>(candidate.place.from);
    out.at = static_cast<int>(candidate.place.where);
    if (candidate.place.kind == Place::Kind::near_end) {
      out.at = -out.octets - static_cast<int>(candidate.place.where);
    }
    out.to = -static_cast<int>(candidate.place.tail);
    return out;
  }

  static ByteOrder usual_order(const CheckMaker& maker) {
    const bool is_reflected = maker.model != nullptr && maker.model->reflect_out;
    return is_reflected ? ByteOrder::little : ByteOrder::big;
  }

  /// Bits of surprise, by common practice: at the end, over all or all behind the
  /// start or the length, in the usual order, by one of the usual names.
  double custom_of(const Candidate& candidate) const {
    const Place& place = candidate.place;
    double bits = 0;
    if (place.kind == Place::Kind::near_end) bits += place.where == 0 ? 0 : 6;
    if (place.kind == Place::Kind::middle) bits += 8;
    if (place.kind == Place::Kind::front) {
      bits += 5 + 3 * static_cast<double>(place.tail);
      const auto skipped =
          place.from - place.where - static_cast<std::size_t>(candidate.maker->octets);
      bits += skipped == 0 ? 0 : 3;
    } else {
      bits += custom_of_from(place.from);
    }
    if (candidate.maker->octets > 1 && candidate.order != usual_order(*candidate.maker)) bits += 2;
    if (candidate.maker->complement != fleet::Complement::none) bits += 1;
    if (candidate.maker->model != nullptr && !is_usual(candidate.maker->model->name)) bits += 2;
    return bits;
  }

  double custom_of_from(std::size_t from) const {
    if (from == 0) return 0;
    if (from == framing_.start.size()) return 1;
    if (framing_.prefix) {
      const auto at = static_cast<std::size_t>(framing_.prefix->at);
      const std::size_t behind = at + static_cast<std::size_t>(framing_.prefix->octets);
      if (from == at || from == behind) return 1.5;
    }
    return 3 + 0.25 * static_cast<double>(from);
  }

  static bool is_usual(std::string_view name) {
    constexpr std::string_view kUsual[] = {"crc-8/smbus",     "crc-8/maxim-dow", "crc-16/arc",
                                           "crc-16/ibm-3740", "crc-16/ibm-sdlc", "crc-16/kermit",
                                           "crc-16/modbus",   "crc-16/xmodem",   "crc-32/iso-hdlc"};
    return std::find(std::begin(kUsual), std::end(kUsual), name) != std::end(kUsual);
  }

  std::span<const Octets* const> frames_;
  const fleet::FrameFacts& framing_;
  std::size_t usual_ = 0;
  std::size_t tried_ = 0;
  std::vector<Candidate> kept_;
};

}  // namespace

std::optional<CheckGuess> search_check(std::span<const Octets* const> frames,
                                       const fleet::FrameFacts& framing,
                                       std::span<const CheckMaker> makers, std::size_t tries) {
  Search search{frames, framing};
  for (const CheckMaker& maker : makers) search.try_maker(maker);
  return search.best(tries);
}

std::vector<const Octets*> different_frames(std::span<const Octets* const> frames,
                                            std::size_t most) {
  std::set<Octets> seen;
  std::vector<const Octets*> out;
  const std::size_t step = std::max<std::size_t>(1, frames.size() / std::max<std::size_t>(most, 1));
  for (std::size_t i = 0; i < frames.size() && out.size() < most; i += step) {
    if (seen.insert(*frames[i]).second) out.push_back(frames[i]);
  }
  return out;
}

}  // namespace fieldfare::learn
