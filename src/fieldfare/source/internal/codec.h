// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "fieldfare/base/complaint.h"

namespace fieldfare::source {

/// One way of packing bytes, step by step.
class Codec {
 public:
  struct Step {
    std::size_t taken = 0;  ///< of the packed bytes
    std::size_t given = 0;  ///< of the room
  };

  Codec() = default;
  virtual ~Codec() = default;
  Codec(const Codec&) = delete;
  Codec& operator=(const Codec&) = delete;

  /// Unpacks from `packed` into `room`, neither empty unless `last`: then nothing
  /// comes behind `packed`. Neither taking nor giving anything is the end.
  virtual Step step(std::string_view packed, std::span<char> room, bool last) = 0;

  /// What is wrong with the packed bytes.
  const std::optional<Complaint>& complaint() const { return complaint_; }

 protected:
  void complain(std::string_view what, std::string expected);
  void complain(Complaint complaint) { complaint_ = std::move(complaint); }
  void count(std::size_t unpacked) { unpacked_ += unpacked; }

 private:
  std::uint64_t unpacked_ = 0;
  std::optional<Complaint> complaint_;
};

/// Longest of the marks that the formats begin with.
inline constexpr std::size_t kMarkBytes = 6;

/// The codec for bytes that begin so; null where none of the marks is there.
std::unique_ptr<Codec> codec_for(std::string_view front);

}  // namespace fieldfare::source
