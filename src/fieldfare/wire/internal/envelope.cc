// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/envelope.h"

#include <algorithm>

namespace fieldfare::wire {
namespace {

/// Octets in front of the body and behind it.
struct Margins {
  std::size_t front = 0;
  std::size_t back = 0;
};

Margins margins_of(const fleet::FrameFacts& frame) {
  Margins margins{.front = frame.start.size()};
  if (frame.prefix) {
    margins.front =
        std::max(margins.front, static_cast<std::size_t>(frame.prefix->at + frame.prefix->octets));
  }
  if (frame.check && frame.check->at < 0) margins.back = static_cast<std::size_t>(-frame.check->at);
  if (frame.check && frame.check->at >= 0) {
    const int end = frame.check->at + fleet::sent_octets(*frame.check);
    margins.front = std::max(margins.front, static_cast<std::size_t>(end));
  }
  return margins;
}

bool write_length(const fleet::LengthPrefix& prefix, fleet::Octets& frame) {
  const std::int64_t length = static_cast<std::int64_t>(frame.size()) - prefix.adds;
  if (length < 0 || (length >> (8 * prefix.octets)) != 0) return false;
  for (int i = 0; i < prefix.octets; ++i) {
    const int place = prefix.order == fleet::ByteOrder::little ? i : prefix.octets - 1 - i;
    frame[static_cast<std::size_t>(prefix.at + place)] =
        static_cast<std::uint8_t>(length >> (8 * i));
  }
  return true;
}

}  // namespace

std::optional<BodySpan> body_span(const fleet::FrameFacts& frame, std::size_t frame_octets) {
  const Margins margins = margins_of(frame);
  if (margins.front + margins.back > frame_octets) return std::nullopt;
  return BodySpan{margins.front, frame_octets - margins.back};
}

Result<fleet::Octets, BodyError> with_envelope(const fleet::FrameFacts& frame,
                                               std::span<const std::uint8_t> body) {
  const Margins margins = margins_of(frame);
  fleet::Octets octets(margins.front + body.size() + margins.back);
  if (octets.size() > static_cast<std::size_t>(frame.most_octets)) {
    return Failure{BodyError{BodyFault::does_not_fit}};
  }
  std::copy(frame.start.begin(), frame.start.end(), octets.begin());
  std::copy(body.begin(), body.end(), octets.begin() + static_cast<std::ptrdiff_t>(margins.front));
  if (frame.prefix && !write_length(*frame.prefix, octets)) {
    return Failure{BodyError{BodyFault::does_not_fit}};
  }
  return octets;
}

}  // namespace fieldfare::wire
