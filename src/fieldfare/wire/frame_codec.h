// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>
#include <optional>
#include <span>

#include "fieldfare/wire/body_codec.h"
#include "fieldfare/wire/check.h"

namespace fieldfare::wire {

/// Whole frames of one layout, check included, both ways: what stand-in nodes
/// send and what one sheet makes of a frame.
class FrameCodec {
 public:
  /// Preconditions as for make_body_codec().
  explicit FrameCodec(const fleet::FrameFacts& frame);

  const fleet::FrameFacts& facts() const { return *frame_; }

  /// True where the frame has no check, or it holds.
  bool check_holds(std::span<const std::uint8_t> frame) const {
    return !check_ || check_->holds(frame);
  }
  BodyCodec& body() { return *body_; }

  /// A report as the octets of a stream: body, start, length, check, framing.
  /// `does_not_fit` too where the framing can't carry what came out.
  Result<fleet::Octets, BodyError> encode(const ReportValues& values);

 private:
  const fleet::FrameFacts* frame_;
  std::optional<FrameCheck> check_;
  std::unique_ptr<BodyCodec> body_;
};

}  // namespace fieldfare::wire
