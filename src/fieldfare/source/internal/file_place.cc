// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/file_place.h"

#include <unistd.h>

#include <algorithm>
#include <cassert>

namespace fieldfare::source {
namespace {

// Two lines of a log hardly agree in so many octets, the time being among them.
constexpr std::size_t kKept = 64;

// 2^48 octets are 281 TB. The check has 15 bits above: a mark stays positive for
// those who store it as a signed number.
constexpr unsigned kOffsetBits = 48;
constexpr std::uint64_t kOffsetMask = (std::uint64_t{1} << kOffsetBits) - 1;
constexpr std::uint64_t kCheckMask = (1 << 15) - 1;

/// FNV-1a, from memory; any hash would do.
std::uint64_t hash_of(const std::string& octets) {
  std::uint64_t hash = 0xcbf29ce484222325;
  for (const char c : octets) hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001b3;
  return hash ^ (hash >> 32);
}

/// Up to kKept octets that end at `offset`; fewer where the file has fewer.
std::string octets_before(int file, std::uint64_t offset) {
  const std::size_t size = std::min<std::uint64_t>(kKept, offset);
  std::string octets(size, '\0');
  const ssize_t got = pread(file, octets.data(), size, static_cast<off_t>(offset - size));
  octets.resize(got > 0 ? static_cast<std::size_t>(got) : 0);
  return octets;
}

}  // namespace

void FilePlace::advance(std::span<const std::uint8_t> octets) {
  offset_ += octets.size();
  const auto last = octets.last(std::min(octets.size(), kKept));
  before_.append(last.begin(), last.end());
  before_.erase(0, before_.size() - std::min(before_.size(), kKept));
}

bool FilePlace::set(int file, std::uint64_t offset) {
  assert(offset <= kOffsetMask);
  std::string before = octets_before(file, offset);
  if (before.size() != std::min<std::uint64_t>(kKept, offset)) return false;
  offset_ = offset;
  before_ = std::move(before);
  return true;
}

bool FilePlace::is_in(int file) const { return octets_before(file, offset_) == before_; }

std::uint64_t FilePlace::mark() const {
  return (hash_of(before_) & kCheckMask) << kOffsetBits | offset_;
}

std::uint64_t FilePlace::offset_of(std::uint64_t mark) { return mark & kOffsetMask; }

}  // namespace fieldfare::source
