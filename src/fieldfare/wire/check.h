// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>

#include "fieldfare/fleet/frame.h"

namespace fieldfare::wire {

/// The check of a frame, made ready for many. Preconditions: those that
/// faults_of() holds a check to.
class FrameCheck {
 public:
  explicit FrameCheck(const fleet::CheckFacts& facts);
  ~FrameCheck();
  FrameCheck(const FrameCheck&) = delete;
  FrameCheck& operator=(const FrameCheck&) = delete;
  FrameCheck(FrameCheck&&) noexcept;
  FrameCheck& operator=(FrameCheck&&) noexcept;

  /// False too where the frame is too short to hold it.
  bool holds(std::span<const std::uint8_t> frame) const;

  /// True where a frame of so many octets has room for the check and what it covers.
  bool has_room(std::size_t octets) const;

  /// Writes the check into a frame that has room for it. Precondition: it has.
  void write(std::span<std::uint8_t> frame) const;

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace fieldfare::wire
