// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "fieldfare/base/complaint.h"

namespace fieldfare::wire {

/// Takes bytes piece by piece; each piece is valid during its call alone.
using ByteSink = std::function<void(std::string_view)>;

/// Unpacks gzip (RFC 1952) as it streams in, and lets all else through as it is:
/// the first two bytes decide, not the file's name. Members one after another
/// are unpacked one after another; zeros after the last are padding.
///
/// Output comes in pieces of at most kLargestPiece bytes and nothing else grows,
/// so that a small file that unpacks to a huge one costs time, not memory.
///
/// Damage and a missing end are told, never thrown; what was unpacked up to then
/// has been passed on and stands.
class Gunzip {
 public:
  static constexpr std::size_t kLargestPiece = 65'536;

  explicit Gunzip(std::string file_name);
  ~Gunzip();
  Gunzip(Gunzip&&) noexcept;
  Gunzip& operator=(Gunzip&&) noexcept;

  void feed(std::string_view bytes, const ByteSink& sink);
  /// Says that no more will come.
  void finish(const ByteSink& sink);

  /// Set once something is wrong with the packed bytes; the rest is ignored.
  const std::optional<Complaint>& complaint() const;

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace fieldfare::wire
