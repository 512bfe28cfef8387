// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <functional>
#include <memory>

namespace fieldfare {

/// Runs loops, perhaps on several cores. Handed down from the top, so that what
/// is below knows neither threads nor how many there are.
class Executor {
 public:
  virtual ~Executor() = default;

  /// Calls body(0) ... body(n - 1), each once, in any order and perhaps at the
  /// same time, and returns when all have returned. The body must not throw,
  /// and answers must not depend on the order: write to slot i, sum afterwards.
  virtual void parallel_for(std::size_t n, const std::function<void(std::size_t)>& body) = 0;
};

/// One after the other on the calling thread.
class SerialExecutor final : public Executor {
 public:
  void parallel_for(std::size_t n, const std::function<void(std::size_t)>& body) override;
};

/// On at most `threads` cores; 0 means as many as there are.
std::unique_ptr<Executor> make_parallel_executor(int threads = 0);

}  // namespace fieldfare
