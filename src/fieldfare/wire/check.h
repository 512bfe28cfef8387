// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <memory>
#include <span>

#include "fieldfare/fleet/frame.h"

namespace fieldfare::wire {

/// The check of a frame, made ready for many.
class FrameCheck {
 public:
  explicit FrameCheck(const fleet::CheckFacts& facts);
  ~FrameCheck();
  FrameCheck(FrameCheck&&) noexcept;
  FrameCheck& operator=(FrameCheck&&) noexcept;

  /// False too where the frame is too short to hold it.
  bool holds(std::span<const std::uint8_t> frame) const;

  /// Writes the check into a frame that has room for it. Precondition: it has.
  void write(std::span<std::uint8_t> frame) const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace fieldfare::wire
