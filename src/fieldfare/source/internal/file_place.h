// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <span>
#include <string>

namespace fieldfare::source {

/// How far a file was read, and what stood right before.
class FilePlace {
 public:
  std::uint64_t offset() const { return offset_; }

  /// `octets` were read behind it.
  void advance(std::span<const std::uint8_t> octets);
  /// To where `offset` octets of `file` lie behind; false with errno where they
  /// can't be read.
  bool set(int file, std::uint64_t offset);

  /// Whether `file` still has the same octets right before this place.
  bool is_in(int file) const;

  /// The place with a check of the octets before it; never 0 behind the first.
  std::uint64_t mark() const;
  static std::uint64_t offset_of(std::uint64_t mark);

 private:
  std::uint64_t offset_ = 0;
  std::string before_;  ///< the last octets before it
};

}  // namespace fieldfare::source
