// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/nearest.h"

#include <gtest/gtest.h>

#include <array>

#include "fieldfare/base/random.h"

namespace fieldfare {
namespace {

TEST(EditDistance, CountsSingleChanges) {
  // The usual textbook pairs; the last two by hand.
  EXPECT_EQ(edit_distance("kitten", "sitting"), 3u);
  EXPECT_EQ(edit_distance("", "abc"), 3u);
  EXPECT_EQ(edit_distance("flaw", "lawn"), 2u);
  EXPECT_EQ(edit_distance("abcd", "acbd"), 1u);
  EXPECT_EQ(edit_distance("ca", "abc"), 3u);
}

TEST(EditDistance, IsTheSameBothWays) {
  RandomStream random{1, "words"};
  const auto word = [&random] {
    std::string out(random.below(8), 'a');
    for (char& c : out) c = static_cast<char>('a' + random.below(3));
    return out;
  };
  for (int i = 0; i < 2000; ++i) {
    const std::string a = word(), b = word();
    ASSERT_EQ(edit_distance(a, b), edit_distance(b, a)) << a << ' ' << b;
    ASSERT_EQ(edit_distance(a, b) == 0, a == b);
  }
}

constexpr std::array<std::string_view, 4> kKeys = {"interval", "interval_s", "seq_bits", "name"};

TEST(NearestName, FindsWhatWasMeant) {
  EXPECT_EQ(nearest_name("intervall", kKeys), "interval");
  EXPECT_EQ(nearest_name("Interval-S", kKeys), "interval_s");
  EXPECT_EQ(nearest_name("seqbits", kKeys), "seq_bits");
  EXPECT_EQ(nearest_name("nmae", kKeys), "name");
}

TEST(NearestName, SaysNothingRatherThanSomethingFarFetched) {
  EXPECT_FALSE(nearest_name("colour", kKeys));
  EXPECT_FALSE(nearest_name("", kKeys));
  EXPECT_FALSE(nearest_name(std::string(10'000, 'i'), kKeys));
  EXPECT_FALSE(nearest_name("interval", {}));
}

}  // namespace
}  // namespace fieldfare
