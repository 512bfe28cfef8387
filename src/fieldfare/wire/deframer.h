// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <string_view>

#include "fieldfare/fleet/frame.h"

// A stream of bytes into frames, and a frame into bytes of a stream.
namespace fieldfare::wire {

/// Why octets of a stream belong to no frame.
enum class StreamFault : std::uint8_t {
  noise,       ///< between frames, where nothing should be
  bad_escape,  ///< an escape that its framing doesn't have
  too_long,    ///< longer than `most_octets`
  bad_length,  ///< a length that no frame can have
  torn,        ///< the stream ended, or a frame began, inside it
  aborted,     ///< the sender gave it up (RFC 1662: escape, then flag)
};

/// `bad-escape`, `too-long` and so on.
std::string_view stream_fault_code(StreamFault fault);

/// Takes what a Deframer finds. The octets are valid during the call.
class FrameSink {
 public:
  virtual ~FrameSink() = default;
  /// A frame: escapes undone, delimiters gone, `start`, length and check still
  /// there. `taken` are the octets of the stream that it took.
  virtual void frame(std::span<const std::uint8_t> octets, std::size_t taken) = 0;
  /// Octets of the stream, as they came, that are no frame. Of long ones only the
  /// first FrameFacts::most_octets are in `octets`; `taken` counts all. At the end
  /// of the stream `octets` are empty where only fill was left.
  virtual void lost(StreamFault fault, std::span<const std::uint8_t> octets, std::size_t taken) = 0;
};

/// Cuts a stream into frames, as a sheet's framing says.
///
/// Any split of the stream into feeds gives the same calls of the sink, and no
/// octet is dropped unsaid: at any time, all octets that were fed are those of
/// the calls' `taken` plus pending(). Flags, ENDs and line ends that stand alone between
/// frames are fill: they count as taken by the next frame or loss, or stay pending.
/// Memory is bounded by most_octets. After a fault it goes on with the next octet
/// that can begin a frame, so that one damaged frame costs no whole one behind it.
class Deframer {
 public:
  virtual ~Deframer() = default;
  virtual void feed(std::span<const std::uint8_t> octets, FrameSink& sink) = 0;
  /// The stream ended: what is pending is handed over or lost.
  virtual void finish(FrameSink& sink) = 0;
  virtual std::size_t pending() const = 0;
};

/// Precondition: faults_of(frame) is empty. `check` where the framing has need of
/// it to find its place again: a length-prefixed or delimited frame whose check
/// fails is no frame, and the search goes on one octet behind its beginning; such
/// octets are then lost as noise.
///
/// What no framing can give, for want of anything to tell it by: where a delimiter
/// itself is damaged, two frames become one (slip, cobs, line, delimited by an end
/// alone, and hdlc frames that share a flag); a length-prefixed frame without
/// `check` whose length is damaged takes what follows with it, as long as it says;
/// a frame that is delimited by `start` alone is told from its follower's start
/// only, and may not hold those octets.
std::unique_ptr<Deframer> make_deframer(const fleet::FrameFacts& frame);

/// True where the framing can tell this frame from what comes before and behind
/// it: no line feed in a line, no end in a frame that it would end, a length that
/// says what is there, not more than most_octets.
bool can_carry(const fleet::FrameFacts& frame, std::span<const std::uint8_t> octets);

/// Octets of a frame (with start, length and check) as a stream carries them.
/// Precondition: can_carry(frame, octets).
fleet::Octets frame_for_stream(const fleet::FrameFacts& frame,
                               std::span<const std::uint8_t> octets);

}  // namespace fieldfare::wire
