// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>

#include "fieldfare/base/complaint.h"

namespace fieldfare::source {

/// Fills the front of a buffer with the next bytes and says how many; 0 is the end.
using BytesIn = std::function<std::size_t(std::span<char>)>;

/// Unpacks gzip (RFC 1952), xz and Zstandard (RFC 8878) as it is read, and lets
/// all else through as it is: the first bytes decide, not the file's name.
/// Members one after another are unpacked one after another.
///
/// Memory is bounded, whatever the bytes: xz may ask for 256 MiB, Zstandard for a
/// window of 128 MiB (what both tools use at most unless told otherwise).
///
/// Damage and a missing end are told, never thrown; what was unpacked up to then
/// has been handed out and stands.
class Unpacker {
 public:
  Unpacker(std::string file_name, BytesIn packed);
  ~Unpacker();
  Unpacker(Unpacker&&) noexcept;
  Unpacker& operator=(Unpacker&&) noexcept;
  Unpacker(const Unpacker&) = delete;
  Unpacker& operator=(const Unpacker&) = delete;

  /// Fills the front of `out`, which is not empty; 0 at the end only.
  std::size_t read(std::span<char> out);

  /// Set once something is wrong with the packed bytes; nothing is read on.
  const std::optional<Complaint>& complaint() const;

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace fieldfare::source
