// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/deframer.h"

#include <algorithm>
#include <cassert>

#include "fieldfare/wire/framing.h"
#include "fieldfare/wire/internal/deframers.h"

namespace fieldfare::wire {
namespace {

using Span = std::span<const std::uint8_t>;

/// All that comes until the stream ends is one frame.
class WholeDeframer final : public Deframer {
 public:
  explicit WholeDeframer(const fleet::FrameFacts& frame)
      : most_{static_cast<std::size_t>(frame.most_octets)} {}

  void feed(Span octets, FrameSink& /*sink*/) override {
    const Span kept = octets.first(std::min(most_ - kept_.size(), octets.size()));
    kept_.insert(kept_.end(), kept.begin(), kept.end());
    length_ += octets.size();
  }

  void finish(FrameSink& sink) override {
    if (length_ == 0) return;
    const std::size_t taken = length_;
    length_ = 0;
    if (taken > most_) {
      sink.lost(StreamFault::too_long, kept_, taken);
    } else {
      sink.frame(kept_, taken);
    }
    kept_.clear();
  }

  std::size_t pending() const override { return length_; }

 private:
  std::size_t most_;
  std::size_t length_ = 0;
  fleet::Octets kept_;
};

bool holds(Span octets, const fleet::Octets& part) {
  return std::search(octets.begin(), octets.end(), part.begin(), part.end()) != octets.end();
}

bool begins_with(Span octets, const fleet::Octets& part) {
  return octets.size() >= part.size() && std::equal(part.begin(), part.end(), octets.begin());
}

fleet::Octets joined(Span first, Span second) {
  fleet::Octets out{first.begin(), first.end()};
  out.insert(out.end(), second.begin(), second.end());
  return out;
}

/// How a delimited frame of no known length ends stands in it once, at its end.
bool is_delimited(const fleet::FrameFacts& frame, Span octets) {
  if (!begins_with(octets, frame.start) || octets.size() == frame.start.size()) return false;
  if (frame.length) {
    return octets.size() + frame.end.size() == static_cast<std::size_t>(*frame.length);
  }
  const Span content = octets.subspan(frame.start.size());
  if (frame.end.empty()) {
    // What comes next begins with `start`: it must not begin a moment earlier.
    const fleet::Octets followed = joined(content, frame.start);
    return !holds(Span{followed}.first(followed.size() - 1), frame.start);
  }
  const fleet::Octets closed = joined(content, frame.end);
  if (holds(Span{closed}.first(closed.size() - 1), frame.end)) return false;
  return frame.check || frame.start.empty() || !holds(content, frame.start);
}

bool is_prefixed(const fleet::FrameFacts& frame, Span octets) {
  const fleet::LengthPrefix& prefix = *frame.prefix;
  const std::size_t head =
      static_cast<std::size_t>(prefix.at) + static_cast<std::size_t>(prefix.octets);
  if (octets.size() < head || !begins_with(octets, frame.start)) return false;
  return static_cast<std::int64_t>(octets.size()) == internal::framed_length(frame, octets);
}

}  // namespace

std::string_view stream_fault_code(StreamFault fault) {
  switch (fault) {
    case StreamFault::noise:
      return "noise";
    case StreamFault::bad_escape:
      return "bad-escape";
    case StreamFault::too_long:
      return "too-long";
    case StreamFault::bad_length:
      return "bad-length";
    case StreamFault::torn:
      return "torn";
    case StreamFault::aborted:
      return "aborted";
  }
  return {};
}

std::unique_ptr<Deframer> make_deframer(const fleet::FrameFacts& frame) {
  switch (frame.framing) {
    case fleet::Framing::none:
      return std::make_unique<WholeDeframer>(frame);
    case fleet::Framing::slip:
    case fleet::Framing::hdlc:
    case fleet::Framing::cobs:
    case fleet::Framing::line:
      return internal::make_segment_deframer(frame);
    case fleet::Framing::length_prefixed:
    case fleet::Framing::delimited:
      return internal::make_searching_deframer(frame);
  }
  return nullptr;
}

bool can_carry(const fleet::FrameFacts& frame, Span octets) {
  if (octets.size() > static_cast<std::size_t>(frame.most_octets)) return false;
  switch (frame.framing) {
    case fleet::Framing::none:
    case fleet::Framing::slip:
    case fleet::Framing::hdlc:
      return !octets.empty();
    case fleet::Framing::cobs:
      return true;
    case fleet::Framing::line:
      return !octets.empty() && octets.back() != '\r' && !holds(octets, {'\n'});
    case fleet::Framing::length_prefixed:
      return is_prefixed(frame, octets);
    case fleet::Framing::delimited:
      return is_delimited(frame, octets);
  }
  return false;
}

fleet::Octets frame_for_stream(const fleet::FrameFacts& frame, Span octets) {
  assert(can_carry(frame, octets));
  switch (frame.framing) {
    case fleet::Framing::none:
    case fleet::Framing::length_prefixed:
      break;
    case fleet::Framing::slip:
      return slip_encode(octets);
    case fleet::Framing::hdlc:
      return hdlc_stuff(octets);
    case fleet::Framing::cobs:
      return cobs_encode(octets);
    case fleet::Framing::line:
      return joined(octets, fleet::Octets{'\n'});
    case fleet::Framing::delimited:
      return joined(octets, frame.end);
  }
  return {octets.begin(), octets.end()};
}

}  // namespace fieldfare::wire
