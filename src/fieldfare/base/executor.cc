// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/executor.h"

namespace fieldfare {

void SerialExecutor::parallel_for(std::size_t n, const std::function<void(std::size_t)>& body) {
  for (std::size_t i = 0; i < n; ++i) body(i);
}

}  // namespace fieldfare
