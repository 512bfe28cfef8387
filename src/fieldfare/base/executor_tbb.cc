// SPDX-License-Identifier: Apache-2.0
#include <oneapi/tbb/parallel_for.h>
#include <oneapi/tbb/task_arena.h>

#include "fieldfare/base/executor.h"

namespace fieldfare {
namespace {

class TbbExecutor final : public Executor {
 public:
  explicit TbbExecutor(int threads)
      : arena_{threads > 0 ? threads : oneapi::tbb::task_arena::automatic} {}

  void parallel_for(std::size_t n, const std::function<void(std::size_t)>& body) override {
    arena_.execute([&] { oneapi::tbb::parallel_for(std::size_t{0}, n, body); });
  }

 private:
  oneapi::tbb::task_arena arena_;
};

}  // namespace

std::unique_ptr<Executor> make_parallel_executor(int threads) {
  return std::make_unique<TbbExecutor>(threads);
}

}  // namespace fieldfare
