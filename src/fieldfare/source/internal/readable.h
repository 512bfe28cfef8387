// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>

#include "fieldfare/source/internal/asio.h"
#include "fieldfare/source/loop.h"

namespace fieldfare::source {

/// An open file of the system that the loop waits on. Owns the descriptor.
class Readable {
 public:
  explicit Readable(Loop& loop) : io_{loop.impl().io} {}

  /// False, with errno set and the descriptor closed, where the system can watch
  /// no more files.
  [[nodiscard]] bool adopt(int descriptor);
  void close();
  bool is_open() const { return stream_.has_value(); }
  int descriptor() { return stream_->native_handle(); }

  /// Calls `ready` once when there is something to read or the far end is gone;
  /// not after close(). Asked again while it waits, it goes on waiting. `owner`
  /// stays alive until then. A file of a kind that can't be waited for is ready
  /// at once.
  void wait(std::shared_ptr<const void> owner, std::function<void()> ready);

 private:
  asio::io_context& io_;
  std::optional<asio::posix::stream_descriptor> stream_;
  std::uint64_t generation_ = 0;  ///< tells a late answer of what was closed
  bool waiting_ = false;
};

}  // namespace fieldfare::source
