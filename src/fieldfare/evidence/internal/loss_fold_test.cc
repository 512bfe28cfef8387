// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/evidence/internal/loss_fold.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <vector>

#include "fieldfare/base/random.h"

namespace fieldfare::evidence::internal {
namespace {

TEST(LossFold, CountsALossRunOnceAndItsLengthInFull) {
  LossFold fold;
  fold.heard(1);
  fold.heard(2);
  fold.missed(3);
  fold.missed(2);
  fold.heard(8);
  EXPECT_EQ(fold.good_good(), 1U);
  EXPECT_EQ(fold.good_bad(), 1U);
  EXPECT_EQ(fold.bad_good(), 1U);
  EXPECT_EQ(fold.bad_bad(), 4U);
  ASSERT_EQ(fold.gaps().size(), 1U);
  EXPECT_EQ(fold.gaps()[0].from_ns, 2);
  EXPECT_EQ(fold.gaps()[0].to_ns, 8);
  EXPECT_EQ(fold.gaps()[0].missed, 5U);
}

TEST(LossFold, CountsNoTransitionFromOneRunToTheNext) {
  LossFold fold;
  fold.heard(1);
  fold.end_run();
  fold.heard(2);
  fold.end_run();
  EXPECT_EQ(fold.good_good() + fold.good_bad() + fold.bad_good() + fold.bad_bad(), 0U);
}

TEST(LossFold, KeepsTheLongestGapsInOrderOfTime) {
  RandomStream random{1, "gaps"};
  LossFold fold;
  std::vector<Gap> all;
  fold.heard(0);
  constexpr std::int64_t kGaps = 3 * LossFold::kMostGaps;
  for (std::int64_t i = 1; i <= kGaps; ++i) {
    const std::uint64_t missed = 1 + random.below(50);
    fold.missed(missed);
    fold.heard(i);
    all.push_back({i - 1, i, missed});
  }
  // Longest first; of equals the earlier.
  std::stable_sort(all.begin(), all.end(),
                   [](const Gap& a, const Gap& b) { return a.missed > b.missed; });
  all.resize(LossFold::kMostGaps);
  std::sort(all.begin(), all.end(),
            [](const Gap& a, const Gap& b) { return a.from_ns < b.from_ns; });
  const std::vector<Gap> kept = fold.gaps();
  ASSERT_EQ(kept.size(), all.size());
  for (std::size_t i = 0; i < kept.size(); ++i) {
    EXPECT_EQ(kept[i].from_ns, all[i].from_ns) << i;
    EXPECT_EQ(kept[i].missed, all[i].missed) << i;
  }
}

}  // namespace
}  // namespace fieldfare::evidence::internal
