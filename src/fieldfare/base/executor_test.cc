// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/executor.h"

#include <gtest/gtest.h>

#include <vector>

namespace fieldfare {
namespace {

std::vector<int> calls_per_index(Executor& executor, std::size_t n) {
  std::vector<int> calls(n, 0);
  executor.parallel_for(n, [&calls](std::size_t i) { ++calls[i]; });
  return calls;
}

TEST(Executor, EachIndexIsVisitedExactlyOnceHoweverManyCores) {
  const std::vector<int> once(10'000, 1);
  SerialExecutor serial;
  EXPECT_EQ(calls_per_index(serial, once.size()), once);
  EXPECT_EQ(calls_per_index(*make_parallel_executor(1), once.size()), once);
  EXPECT_EQ(calls_per_index(*make_parallel_executor(), once.size()), once);
  EXPECT_TRUE(calls_per_index(*make_parallel_executor(), 0).empty());
}

TEST(Executor, ALoopWithinALoopFinishes) {
  const auto executor = make_parallel_executor(2);
  std::vector<int> sums(8, 0);
  executor->parallel_for(sums.size(), [&](std::size_t i) {
    for (const int calls : calls_per_index(*executor, 100)) sums[i] += calls;
  });
  EXPECT_EQ(sums, std::vector<int>(8, 100));
}

}  // namespace
}  // namespace fieldfare
