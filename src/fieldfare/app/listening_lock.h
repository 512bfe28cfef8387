// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>

#include "fieldfare/app/trouble.h"

namespace fieldfare::app {

/// Holds a site for one listener. The system lets go of it when the process ends,
/// however it does.
class ListeningLock {
 public:
  static Result<ListeningLock, Trouble> take(const std::string& folder);
  ~ListeningLock();
  ListeningLock(ListeningLock&& other) noexcept;
  ListeningLock& operator=(ListeningLock&&) = delete;
  ListeningLock(const ListeningLock&) = delete;
  ListeningLock& operator=(const ListeningLock&) = delete;

 private:
  explicit ListeningLock(int descriptor) : descriptor_{descriptor} {}

  int descriptor_;
};

}  // namespace fieldfare::app
