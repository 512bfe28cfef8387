// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/readable.h"

#include <unistd.h>

#include <cerrno>
#include <utility>

namespace fieldfare::source {

bool Readable::adopt(int descriptor) {
  close();
  stream_.emplace(io_);
  asio::error_code error;
  stream_->assign(descriptor, error);
  if (!error) return true;
  stream_.reset();
  ::close(descriptor);
  errno = error.value();
  return false;
}

void Readable::close() {
  stream_.reset();
  ++generation_;
  waiting_ = false;
}

void Readable::wait(std::shared_ptr<const void> owner, std::function<void()> ready) {
  if (waiting_ || !stream_) return;
  waiting_ = true;
  stream_->async_wait(asio::posix::descriptor_base::wait_read,
                      [this, generation = generation_, owner = std::move(owner),
                       ready = std::move(ready)](const asio::error_code&) {
                        // Whatever the error is, the read that follows meets it too and knows it
                        // better.
                        if (generation != generation_) return;
                        waiting_ = false;
                        ready();
                      });
}

}  // namespace fieldfare::source
