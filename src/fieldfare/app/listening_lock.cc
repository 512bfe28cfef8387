// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/listening_lock.h"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <utility>

namespace fieldfare::app {

Result<ListeningLock, Trouble> ListeningLock::take(const std::string& folder) {
  const std::string path = (std::filesystem::path{folder} / "listening.lock").string();
  const int descriptor = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (descriptor < 0) {
    return machine_trouble({{path, 0, 0},
                            std::string{"can't be made: "} + std::strerror(errno),
                            "a site folder that may be written to"});
  }
  if (::flock(descriptor, LOCK_EX | LOCK_NB) != 0) {
    ::close(descriptor);
    return machine_trouble({{folder, 0, 0},
                            "another program is listening for this site already",
                            "one listener a site; end the other one first"});
  }
  return ListeningLock{descriptor};
}

ListeningLock::ListeningLock(ListeningLock&& other) noexcept
    : descriptor_{std::exchange(other.descriptor_, -1)} {}

ListeningLock::~ListeningLock() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

}  // namespace fieldfare::app
