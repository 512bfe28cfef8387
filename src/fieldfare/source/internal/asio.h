// SPDX-License-Identifier: Apache-2.0
#pragma once

// The only way in for Asio: its own code does not hold to our warnings.
#ifndef ASIO_STANDALONE
#define ASIO_STANDALONE
#endif
#ifndef ASIO_NO_DEPRECATED
#define ASIO_NO_DEPRECATED
#endif
#include <asio/executor_work_guard.hpp>
#include <asio/io_context.hpp>
#include <asio/posix/stream_descriptor.hpp>
#include <asio/post.hpp>
#include <asio/signal_set.hpp>
#include <asio/steady_timer.hpp>
#include <memory>
#include <vector>

#include "fieldfare/source/loop.h"

namespace fieldfare::source {

struct Loop::Impl {
  /// One thread runs it; any may post.
  asio::io_context io{1};
  /// Keeps run() from returning while nothing is waited for.
  asio::executor_work_guard<asio::io_context::executor_type> work{io.get_executor()};
  std::vector<std::unique_ptr<asio::steady_timer>> timers;
  asio::signal_set end_signals{io};
};

}  // namespace fieldfare::source
