// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "fieldfare/wire/body_codec.h"

// What stands around a body within its frame: start, length, check. What ends a
// frame in the stream is gone by then.
namespace fieldfare::wire {

/// The part of a frame that holds the body itself.
struct BodySpan {
  std::size_t from = 0;
  std::size_t to = 0;
};

/// Nothing where the frame has no room for what must stand around the body.
std::optional<BodySpan> body_span(const fleet::FrameFacts& frame, std::size_t frame_octets);

/// Puts start, length and room for the check (zeros) around a body. A fault where
/// the whole is longer than frames may be, or than its length can say.
Result<fleet::Octets, BodyError> with_envelope(const fleet::FrameFacts& frame,
                                               std::span<const std::uint8_t> body);

}  // namespace fieldfare::wire
