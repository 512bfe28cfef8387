// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <memory>
#include <span>

namespace fieldfare::app {

/// A file without a name that goes with the object. One thread at a time.
class TempFile {
 public:
  /// Makes the file on the first write.
  [[nodiscard]] bool append(std::span<const std::byte> bytes);
  /// Fills `bytes` from `offset` on; false where that much isn't there.
  [[nodiscard]] bool read_at(std::uint64_t offset, std::span<std::byte> bytes) const;

  std::uint64_t size() const { return size_; }

 private:
  struct Close {
    void operator()(std::FILE* file) const { std::fclose(file); }
  };
  std::unique_ptr<std::FILE, Close> file_;
  std::uint64_t size_ = 0;
};

}  // namespace fieldfare::app
