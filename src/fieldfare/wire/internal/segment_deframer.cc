// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cassert>
#include <cstring>
#include <optional>
#include <vector>

#include "fieldfare/wire/internal/deframers.h"
#include "fieldfare/wire/internal/stuffing.h"

namespace fieldfare::wire::internal {
namespace {

using Span = std::span<const std::uint8_t>;

/// A frame, or why a segment is none.
struct Judged {
  std::optional<StreamFault> fault;
  Span frame;
};

Judged lost(StreamFault fault) { return {fault, {}}; }

bool holds(Span octets, std::uint8_t octet) {
  return !octets.empty() && std::memchr(octets.data(), octet, octets.size()) != nullptr;
}

// What makes the four framings differ: the delimiter, how long a segment of a
// frame of so many octets can be, which segments are fill, and what a segment
// stands for. `scratch` has room for a segment.

struct Slip {
  static constexpr std::uint8_t kDelimiter = kSlipEnd;
  static constexpr bool kOpens = false;
  static std::size_t longest_segment(std::size_t frame) { return 2 * frame; }
  static bool is_fill(Span segment) { return segment.empty(); }
  static Judged judge(Span segment, std::uint8_t* scratch) {
    if (!holds(segment, kSlipEscape)) return {std::nullopt, segment};
    const Unstuffed undone = unstuff_slip(segment, scratch);
    if (undone.state != Stuffing::sound) return lost(StreamFault::bad_escape);
    return {std::nullopt, {scratch, undone.octets}};
  }
};

struct Hdlc {
  static constexpr std::uint8_t kDelimiter = kHdlcFlag;
  static constexpr bool kOpens = true;
  static std::size_t longest_segment(std::size_t frame) { return 2 * frame; }
  static bool is_fill(Span segment) { return segment.empty(); }
  static Judged judge(Span segment, std::uint8_t* scratch) {
    if (!holds(segment, kHdlcEscape)) return {std::nullopt, segment};
    const Unstuffed undone = unstuff_hdlc(segment, scratch);
    if (undone.state != Stuffing::sound) return lost(StreamFault::aborted);
    return {std::nullopt, {scratch, undone.octets}};
  }
};

struct Cobs {
  static constexpr std::uint8_t kDelimiter = 0;
  static constexpr bool kOpens = false;
  static std::size_t longest_segment(std::size_t frame) {
    return frame + frame / kLongestCobsGroup + 1;
  }
  static bool is_fill(Span segment) { return segment.empty(); }
  static Judged judge(Span segment, std::uint8_t* scratch) {
    if (segment.front() == segment.size()) return {std::nullopt, segment.subspan(1)};
    const Unstuffed undone = unstuff_cobs(segment, scratch);
    if (undone.state != Stuffing::sound) return lost(StreamFault::bad_length);
    return {std::nullopt, {scratch, undone.octets}};
  }
};

struct Line {
  static constexpr std::uint8_t kDelimiter = '\n';
  static constexpr bool kOpens = false;
  static std::size_t longest_segment(std::size_t frame) { return frame + 1; }
  static bool is_fill(Span segment) {
    return segment.empty() || (segment.size() == 1 && segment.front() == '\r');
  }
  static Judged judge(Span segment, std::uint8_t* /*scratch*/) {
    const bool has_return = segment.back() == '\r';
    return {std::nullopt, segment.first(segment.size() - (has_return ? 1 : 0))};
  }
};

/// Hands out a frame where it lies, if it came in one piece and nothing in it was
/// escaped; else a copy.
template <class Rules>
class SegmentDeframer final : public Deframer {
 public:
  explicit SegmentDeframer(const fleet::FrameFacts& frame)
      : most_{static_cast<std::size_t>(frame.most_octets)},
        longest_segment_{Rules::longest_segment(most_)},
        scratch_(longest_segment_) {}

  void feed(Span octets, FrameSink& sink) override {
    const std::uint8_t* at = octets.data();
    const std::uint8_t* const end = at + octets.size();
    while (at != end) {
      const auto left = static_cast<std::size_t>(end - at);
      const auto* const hit =
          static_cast<const std::uint8_t*>(std::memchr(at, Rules::kDelimiter, left));
      if (hit == nullptr) {
        keep({at, left});
        return;
      }
      const Span piece{at, static_cast<std::size_t>(hit - at)};
      if (segment_length_ == 0) {
        segment_length_ = piece.size();
        end_segment(piece, sink);
      } else {
        keep(piece);
        end_segment(kept_, sink);
      }
      at = hit + 1;
    }
  }

  void finish(FrameSink& sink) override {
    if (fill_ + segment_length_ > 0) {
      const bool is_long = segment_length_ > longest_segment_;
      const bool is_between = segment_length_ == 0 || (Rules::kOpens && !is_open_);
      lose(is_between ? StreamFault::noise
           : is_long  ? StreamFault::too_long
                      : StreamFault::torn,
           kept_, sink);
    }
    is_open_ = false;
  }

  std::size_t pending() const override { return fill_ + segment_length_; }

 private:
  /// Only as much as a frame can have is kept of a segment.
  void keep(Span piece) {
    const std::size_t room = longest_segment_ - std::min(longest_segment_, kept_.size());
    const Span kept = piece.first(std::min(room, piece.size()));
    kept_.insert(kept_.end(), kept.begin(), kept.end());
    segment_length_ += piece.size();
  }

  /// `segment` is all of it, or its beginning where it is too long for a frame.
  void end_segment(Span segment, FrameSink& sink) {
    const bool was_open = is_open_;
    is_open_ = true;
    if (segment_length_ <= longest_segment_ && Rules::is_fill(segment)) {
      fill_ += segment_length_ + 1;
      forget_segment();
      return;
    }
    ++fill_;  // the delimiter
    if (Rules::kOpens && !was_open) return lose(StreamFault::noise, segment, sink);
    if (segment_length_ > longest_segment_) return lose(StreamFault::too_long, segment, sink);
    const Judged judged = Rules::judge(segment, scratch_.data());
    if (judged.fault) return lose(*judged.fault, segment, sink);
    if (judged.frame.size() > most_) return lose(StreamFault::too_long, segment, sink);
    sink.frame(judged.frame, take());
    forget_segment();
  }

  void lose(StreamFault fault, Span segment, FrameSink& sink) {
    const Span beginning = segment.first(std::min(segment.size(), most_));
    sink.lost(fault, beginning, take());
    forget_segment();
  }

  /// All that is pending counts as taken from here on.
  std::size_t take() {
    const std::size_t taken = pending();
    fill_ = 0;
    segment_length_ = 0;
    return taken;
  }

  void forget_segment() {
    segment_length_ = 0;
    kept_.clear();
  }

  std::size_t most_;
  std::size_t longest_segment_;
  std::vector<std::uint8_t> scratch_;
  std::vector<std::uint8_t> kept_;  ///< beginning of a segment that came in pieces
  std::size_t segment_length_ = 0;  ///< of the segment that is read, all of it
  std::size_t fill_ = 0;            ///< octets before it, taken by nothing yet
  bool is_open_ = false;            ///< a delimiter was seen
};

}  // namespace

std::unique_ptr<Deframer> make_segment_deframer(const fleet::FrameFacts& frame) {
  switch (frame.framing) {
    case fleet::Framing::slip:
      return std::make_unique<SegmentDeframer<Slip>>(frame);
    case fleet::Framing::hdlc:
      return std::make_unique<SegmentDeframer<Hdlc>>(frame);
    case fleet::Framing::cobs:
      return std::make_unique<SegmentDeframer<Cobs>>(frame);
    case fleet::Framing::line:
      return std::make_unique<SegmentDeframer<Line>>(frame);
    default:
      break;
  }
  assert(false && "a framing without a delimiting octet");
  return nullptr;
}

}  // namespace fieldfare::wire::internal
