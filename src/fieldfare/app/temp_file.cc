// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/temp_file.h"

#include <unistd.h>

#include <cerrno>

namespace fieldfare::app {

bool TempFile::append(std::span<const std::byte> bytes) {
  if (!file_) file_.reset(std::tmpfile());
  if (!file_) return false;
  while (!bytes.empty()) {
    const auto written =
        ::pwrite(::fileno(file_.get()), bytes.data(), bytes.size(), static_cast<off_t>(size_));
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) return false;
    size_ += static_cast<std::uint64_t>(written);
    bytes = bytes.subspan(static_cast<std::size_t>(written));
  }
  return true;
}

bool TempFile::read_at(std::uint64_t offset, std::span<std::byte> bytes) const {
  if (!file_) return bytes.empty();
  while (!bytes.empty()) {
    const auto got =
        ::pread(::fileno(file_.get()), bytes.data(), bytes.size(), static_cast<off_t>(offset));
    if (got < 0 && errno == EINTR) continue;
    if (got <= 0) return false;
    offset += static_cast<std::uint64_t>(got);
    bytes = bytes.subspan(static_cast<std::size_t>(got));
  }
  return true;
}

}  // namespace fieldfare::app
