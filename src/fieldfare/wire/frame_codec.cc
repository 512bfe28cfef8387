// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/frame_codec.h"

#include <algorithm>
#include <utility>

#include "fieldfare/wire/deframer.h"

namespace fieldfare::wire {
namespace {

/// False where the length can't be told in its width.
bool write_length(const fleet::LengthPrefix& prefix, fleet::Octets& frame) {
  const auto width = static_cast<std::size_t>(prefix.octets);
  const auto at = static_cast<std::size_t>(prefix.at);
  const std::int64_t number = static_cast<std::int64_t>(frame.size()) - prefix.adds;
  if (number < 0 || number >> 8 * width != 0 || at + width > frame.size()) return false;
  for (std::size_t i = 0; i < width; ++i) {
    const std::size_t place = prefix.order == fleet::ByteOrder::little ? i : width - 1 - i;
    frame[at + place] = static_cast<std::uint8_t>(number >> 8 * i);
  }
  return true;
}

}  // namespace

FrameCodec::FrameCodec(const fleet::FrameFacts& frame)
    : frame_{&frame}, body_{make_body_codec(frame)} {
  if (frame.check) check_.emplace(*frame.check);
}

Result<fleet::Octets, BodyError> FrameCodec::encode(const ReportValues& values) {
  const Failure<BodyError> no_room{{BodyFault::does_not_fit}};
  Result<fleet::Octets, BodyError> body = body_->encode(values);
  if (!body) return body;
  fleet::Octets frame = *std::move(body);
  if (frame.size() < frame_->start.size()) return no_room;
  std::copy(frame_->start.begin(), frame_->start.end(), frame.begin());
  if (frame_->prefix && !write_length(*frame_->prefix, frame)) return no_room;
  if (check_) {
    if (!check_->has_room(frame.size())) return no_room;
    check_->write(frame);
  }
  if (!can_carry(*frame_, frame)) return no_room;
  return frame_for_stream(*frame_, frame);
}

}  // namespace fieldfare::wire
