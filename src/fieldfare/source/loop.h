// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <functional>
#include <memory>

#include "fieldfare/base/instant.h"

namespace fieldfare::source {

/// The event loop that all sources of a program share.
class Loop {
 public:
  struct Impl;

  Loop();
  ~Loop();
  Loop(const Loop&) = delete;
  Loop& operator=(const Loop&) = delete;

  /// Serves until stop(); on the thread that calls it.
  void run();
  /// Any thread. For good: run() after it returns at once.
  void stop();
  /// Has `task` run by the loop. Any thread.
  void post(std::function<void()> task);
  /// Runs `task` every `period` (> 0) until the loop stops, first after one
  /// period. Before run(), or in the loop.
  void every(Duration period, std::function<void()> task);
  /// Runs `task` in the loop when the process is asked to end (SIGINT, SIGTERM).
  /// Asked a second time, it ends at once, as if nothing had been set here.
  void on_end_signal(std::function<void()> task);

  Impl& impl() { return *impl_; }

 private:
  std::unique_ptr<Impl> impl_;
};

}  // namespace fieldfare::source
