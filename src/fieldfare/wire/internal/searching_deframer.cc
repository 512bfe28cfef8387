// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cassert>
#include <cstring>
#include <optional>
#include <utility>

#include "fieldfare/wire/check.h"
#include "fieldfare/wire/internal/deframers.h"

namespace fieldfare::wire::internal {
namespace {

using Span = std::span<const std::uint8_t>;

/// Where `part` stands in `octets`, from `from` on. Precondition: it isn't empty.
std::optional<std::size_t> find_part(Span octets, Span part, std::size_t from) {
  while (from + part.size() <= octets.size()) {
    const std::size_t left = octets.size() - part.size() + 1 - from;
    const auto* const hit =
        static_cast<const std::uint8_t*>(std::memchr(octets.data() + from, part.front(), left));
    if (hit == nullptr) return std::nullopt;
    from = static_cast<std::size_t>(hit - octets.data());
    if (std::equal(part.begin(), part.end(), hit)) return from;
    ++from;
  }
  return std::nullopt;
}

/// What the octets at one place of the stream are.
struct Verdict {
  enum class Kind : std::uint8_t {
    undecided,  ///< more octets are needed to tell
    frame,
    fill,
    none,    ///< no frame begins here; `taken` octets are lost
    broken,  ///< the same, and what follows is another stretch
  };
  Kind kind = Kind::undecided;
  std::size_t taken = 0;
  std::size_t length = 0;  ///< of the frame as it is handed on
  StreamFault fault = StreamFault::noise;
};

constexpr Verdict kUndecided{};

Verdict whole_frame(std::size_t length, std::size_t taken) {
  return {Verdict::Kind::frame, taken, length, StreamFault::noise};
}

/// The search goes on one octet behind.
Verdict no_frame(StreamFault fault) { return {Verdict::Kind::none, 1, 0, fault}; }

class SearchingDeframer final : public Deframer {
 public:
  explicit SearchingDeframer(const fleet::FrameFacts& frame)
      : facts_{frame},
        start_{facts_.start},
        end_{facts_.end},
        most_{static_cast<std::size_t>(frame.most_octets)},
        most_held_{most_ + std::max(start_.size(), end_.size())} {
    if (frame.check) check_.emplace(*frame.check);
  }

  void feed(Span octets, FrameSink& sink) override {
    while (!octets.empty() && !held_.empty()) {
      // As much as any frame can need, so that little is copied and held.
      const std::size_t before = held_.size();
      const Span piece = octets.first(std::min(octets.size(), most_held_ - before));
      held_.insert(held_.end(), piece.begin(), piece.end());
      const std::size_t used = search(held_, false, sink);
      if (used < before) {
        held_.erase(held_.begin(), held_.begin() + static_cast<std::ptrdiff_t>(used));
        octets = octets.subspan(piece.size());
      } else {
        held_.clear();
        octets = octets.subspan(used - before);
      }
    }
    const Span left = octets.subspan(search(octets, false, sink));
    held_.insert(held_.end(), left.begin(), left.end());
  }

  void finish(FrameSink& sink) override {
    search(held_, true, sink);
    held_.clear();
    is_overlong_ = false;
    if (fill_ + lost_length_ > 0) lose_stretch(sink);
  }

  std::size_t pending() const override { return fill_ + lost_length_ + held_.size(); }

 private:
  /// Hands on what can be decided; returns how many octets that were. At the end
  /// of the stream, all of them.
  std::size_t search(Span octets, bool at_end, FrameSink& sink) {
    std::size_t at = 0;
    while (at < octets.size()) {
      const Span rest = octets.subspan(at);
      const Verdict verdict = judge(rest, at_end);
      switch (verdict.kind) {
        case Verdict::Kind::undecided:
          return at;
        case Verdict::Kind::frame:
          if (lost_length_ > 0) lose_stretch(sink);
          sink.frame(rest.first(verdict.length), std::exchange(fill_, 0) + verdict.taken);
          break;
        case Verdict::Kind::fill:
          fill_ += verdict.taken;
          break;
        case Verdict::Kind::none:
          add_to_stretch(rest.first(verdict.taken), verdict.fault);
          break;
        case Verdict::Kind::broken:
          add_to_stretch(rest.first(verdict.taken), verdict.fault);
          lose_stretch(sink);
          break;
      }
      at += verdict.taken;
    }
    return at;
  }

  /// What is lost in a row is one stretch; the first fault names it.
  void add_to_stretch(Span octets, StreamFault fault) {
    if (lost_length_ == 0) lost_fault_ = fault;
    lost_length_ += octets.size();
    const Span kept = octets.first(std::min(most_ - lost_.size(), octets.size()));
    lost_.insert(lost_.end(), kept.begin(), kept.end());
  }

  void lose_stretch(FrameSink& sink) {
    const StreamFault fault = lost_length_ > 0 ? lost_fault_ : StreamFault::noise;
    sink.lost(fault, lost_, fill_ + lost_length_);
    lost_.clear();
    lost_length_ = 0;
    fill_ = 0;
  }

  Verdict judge(Span rest, bool at_end) {
    if (start_.empty() && !facts_.length && !facts_.prefix) return judge_ended(rest, at_end);
    const std::size_t compared = std::min(rest.size(), start_.size());
    if (!std::equal(start_.begin(), start_.begin() + static_cast<std::ptrdiff_t>(compared),
                    rest.begin())) {
      return noise_to_next_start(rest);
    }
    const Verdict verdict = compared < start_.size() ? kUndecided : judge_started(rest, at_end);
    if (verdict.kind != Verdict::Kind::undecided || !at_end) return verdict;
    // Without start or check any octets of a torn frame would look like frames.
    const bool can_search = !start_.empty() || check_;
    return {Verdict::Kind::none, can_search ? 1 : rest.size(), 0, StreamFault::torn};
  }

  Verdict noise_to_next_start(Span rest) const {
    const auto* const next = static_cast<const std::uint8_t*>(
        std::memchr(rest.data() + 1, start_.front(), rest.size() - 1));
    const std::size_t length =
        next == nullptr ? rest.size() : static_cast<std::size_t>(next - rest.data());
    return {Verdict::Kind::none, length, 0, StreamFault::noise};
  }

  Verdict judge_started(Span rest, bool at_end) const {
    if (facts_.prefix) return judge_prefixed(rest);
    if (facts_.length) return judge_known_length(rest);
    return end_.empty() ? judge_until_next_start(rest, at_end) : judge_until_end(rest);
  }

  bool check_holds(Span frame) const { return !check_ || check_->holds(frame); }

  Verdict judge_prefixed(Span rest) const {
    const fleet::LengthPrefix& prefix = *facts_.prefix;
    const std::size_t head =
        static_cast<std::size_t>(prefix.at) + static_cast<std::size_t>(prefix.octets);
    if (rest.size() < head) return kUndecided;
    const std::int64_t said = framed_length(facts_, rest);
    const bool is_long = said > facts_.most_octets;
    if (is_long || said < static_cast<std::int64_t>(head)) {
      // Where no start says that a frame began here, it's no length at all.
      return no_frame(start_.empty() ? StreamFault::noise
                      : is_long      ? StreamFault::too_long
                                     : StreamFault::bad_length);
    }
    const auto length = static_cast<std::size_t>(said);
    if (rest.size() < length) return kUndecided;
    if (!check_holds(rest.first(length))) return no_frame(StreamFault::noise);
    return whole_frame(length, length);
  }

  Verdict judge_known_length(Span rest) const {
    const auto taken = static_cast<std::size_t>(*facts_.length);
    if (rest.size() < taken) return kUndecided;
    const std::size_t length = taken - end_.size();
    const Span tail = rest.subspan(length, end_.size());
    if (!std::equal(end_.begin(), end_.end(), tail.begin()) || !check_holds(rest.first(length))) {
      return no_frame(StreamFault::noise);
    }
    return whole_frame(length, taken);
  }

  Verdict judge_until_end(Span rest) const {
    const Span window = rest.first(std::min(rest.size(), most_ + end_.size()));
    const std::optional<std::size_t> length = find_part(window, end_, start_.size());
    if (!length) {
      return window.size() == most_ + end_.size() ? no_frame(StreamFault::too_long) : kUndecided;
    }
    if (*length == start_.size()) return no_frame(StreamFault::noise);
    const Span frame = rest.first(*length);
    if (!check_ && find_part(frame, start_, start_.size())) return no_frame(StreamFault::torn);
    if (!check_holds(frame)) return no_frame(StreamFault::noise);
    return whole_frame(*length, *length + end_.size());
  }

  Verdict judge_until_next_start(Span rest, bool at_end) const {
    const Span window = rest.first(std::min(rest.size(), most_ + start_.size()));
    std::optional<std::size_t> length = find_part(window, start_, start_.size());
    if (!length && window.size() == most_ + start_.size()) return no_frame(StreamFault::too_long);
    if (!length && at_end && rest.size() <= most_) length = rest.size();
    if (!length) return kUndecided;
    if (*length == start_.size() || !check_holds(rest.first(*length))) {
      return no_frame(StreamFault::noise);
    }
    return whole_frame(*length, *length);
  }

  /// Where nothing but an end tells frames apart, a frame is what stands between
  /// two ends, and what fails the check is lost as one: its tails would pass a
  /// weak check too often.
  Verdict judge_ended(Span rest, bool at_end) {
    const Span window =
        is_overlong_ ? rest : rest.first(std::min(rest.size(), most_ + end_.size()));
    const std::optional<std::size_t> length = find_part(window, end_, 0);
    if (length) {
      const std::size_t taken = *length + end_.size();
      if (is_overlong_) {
        is_overlong_ = false;
        return {Verdict::Kind::broken, taken, 0, StreamFault::too_long};
      }
      if (*length == 0) return {Verdict::Kind::fill, taken, 0, StreamFault::noise};
      if (check_holds(rest.first(*length))) return whole_frame(*length, taken);
      return {Verdict::Kind::broken, taken, 0, StreamFault::noise};
    }
    if (at_end) return {Verdict::Kind::broken, rest.size(), 0, StreamFault::torn};
    if (is_overlong_ || window.size() == most_ + end_.size()) {
      is_overlong_ = true;
      const std::size_t taken = rest.size() - std::min(rest.size(), end_.size() - 1);
      if (taken == 0) return kUndecided;
      // From a window, one octet is enough: the rest is looked at again.
      return {Verdict::Kind::none, window.size() < rest.size() ? 1 : taken, 0,
              StreamFault::too_long};
    }
    return kUndecided;
  }

  fleet::FrameFacts facts_;
  Span start_;
  Span end_;
  std::size_t most_;
  std::size_t most_held_;  ///< more octets than any frame needs to be told
  std::optional<FrameCheck> check_;
  fleet::Octets held_;           ///< what isn't decided
  fleet::Octets lost_;           ///< beginning of the stretch that is no frame
  std::size_t lost_length_ = 0;  ///< all of it
  StreamFault lost_fault_ = StreamFault::noise;
  std::size_t fill_ = 0;      ///< ends that stood alone, taken by nothing yet
  bool is_overlong_ = false;  ///< until the next end all is lost
};

}  // namespace

std::int64_t framed_length(const fleet::FrameFacts& frame, Span octets) {
  const fleet::LengthPrefix& prefix = *frame.prefix;
  const Span sent =
      octets.subspan(static_cast<std::size_t>(prefix.at), static_cast<std::size_t>(prefix.octets));
  std::int64_t number = 0;
  for (std::size_t i = 0; i < sent.size(); ++i) {
    const std::size_t place = prefix.order == fleet::ByteOrder::big ? i : sent.size() - 1 - i;
    number = number << 8 | sent[place];
  }
  return number + prefix.adds;
}

std::unique_ptr<Deframer> make_searching_deframer(const fleet::FrameFacts& frame) {
  return std::make_unique<SearchingDeframer>(frame);
}

}  // namespace fieldfare::wire::internal
