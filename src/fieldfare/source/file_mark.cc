// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/file_mark.h"

#include <fcntl.h>
#include <unistd.h>

#include "fieldfare/source/internal/file_place.h"

namespace fieldfare::source {

std::optional<std::uint64_t> mark_before(const std::string& path, std::uint64_t mark,
                                         std::uint64_t octets) {
  const std::uint64_t offset = FilePlace::offset_of(mark);
  if (octets > offset) return std::nullopt;
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (file < 0) return std::nullopt;
  FilePlace place;
  const bool there = place.set(file, offset - octets);
  ::close(file);
  return there ? std::optional{place.mark()} : std::nullopt;
}

}  // namespace fieldfare::source
