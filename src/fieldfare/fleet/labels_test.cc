// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/fleet/labels.h"

#include <gtest/gtest.h>

// Names and addresses are invented.
namespace fieldfare::fleet {
namespace {

TEST(Labels, EverySpellingOfAnAddressIsOneNode) {
  Labels labels;
  const auto node = labels.node("02005c1fa3");
  ASSERT_TRUE(node);
  EXPECT_EQ(labels.node("02:00:5C:1F:A3"), node);
  EXPECT_EQ(labels.node("02-00-5c-1f-a3"), node);
  EXPECT_EQ(labels.node("02-00-5c-1f-a3"), node);
  EXPECT_EQ(labels.node_count(), 1u);
  EXPECT_EQ(labels.label(*node).name, "02005C1FA3");
  EXPECT_EQ(labels.label(*node).address, (Address{0x02005C1FA3, 10}));
  EXPECT_FALSE(labels.label(*node).listed);
}

TEST(Labels, LeadingZerosBelongToTheAddress) {
  Labels labels;
  EXPECT_NE(labels.node("5C"), labels.node("005C"));
}

TEST(Labels, TextThatIsNotHexIsAName) {
  Labels labels;
  const auto node = labels.node("cold-store");
  ASSERT_TRUE(node);
  EXPECT_EQ(labels.label(*node).name, "cold-store");
  EXPECT_FALSE(labels.label(*node).address);
  EXPECT_NE(labels.node("Cold-Store"), node);
}

TEST(Labels, AListedNodeIsFoundByNameAndByAddress) {
  Labels labels;
  const auto listed = labels.list_node("dock", Address{0x0200'0000'0000'5C1F, 16});
  ASSERT_TRUE(listed);
  EXPECT_EQ(labels.node("dock"), listed);
  EXPECT_EQ(labels.node("0200000000005c1f"), listed);
  EXPECT_EQ(labels.node("0200:0000:0000:5C1F"), listed);
  EXPECT_EQ(labels.label(*listed).name, "dock");
  EXPECT_TRUE(labels.label(*listed).listed);
}

TEST(Labels, AListedNameWinsOverHex) {
  Labels labels;
  const auto fade = labels.list_node("FADE", Address{0x1234, 4});
  const auto other = labels.list_node("other", Address{0xFADE, 4});
  EXPECT_EQ(labels.node("FADE"), fade);
  EXPECT_EQ(labels.node("FA-DE"), other);
}

TEST(Labels, ANameOrAddressIsListedOnlyOnce) {
  Labels labels;
  ASSERT_TRUE(labels.list_node("dock", Address{1, 4}));
  EXPECT_FALSE(labels.list_node("dock", Address{2, 4}));
  EXPECT_FALSE(labels.list_node("gate", Address{1, 4}));
  EXPECT_TRUE(labels.list_node("gate", std::nullopt));
}

TEST(Labels, EmptyAndOverlongNamesGiveNothing) {
  Labels labels;
  const std::string longest(Labels::kLongestName, 'x');
  EXPECT_FALSE(labels.node(""));
  EXPECT_FALSE(labels.receiver(""));
  EXPECT_FALSE(labels.list_node("", std::nullopt));
  EXPECT_TRUE(labels.node(longest));
  EXPECT_FALSE(labels.node(longest + 'x'));
  EXPECT_FALSE(labels.field(longest + 'x'));
  EXPECT_EQ(labels.node_count(), 1u);
}

TEST(Labels, ReceiversAndFieldsAreNumberedOnFirstSight) {
  Labels labels;
  const auto r1 = labels.receiver("r1");
  const auto r2 = labels.receiver("r2");
  ASSERT_TRUE(r1 && r2);
  EXPECT_NE(r1, r2);
  EXPECT_EQ(labels.receiver("r1"), r1);
  EXPECT_EQ(labels.receiver_name(*r2), "r2");
  const auto field = labels.field("temperature_c");
  ASSERT_TRUE(field);
  EXPECT_EQ(labels.field_name(*field), "temperature_c");
  EXPECT_EQ(labels.receiver_count(), 2u);
  EXPECT_EQ(labels.field_count(), 1u);
}

TEST(Labels, BeyondTheMostNamesALookUpGivesNothingButKnownOnesStillWork) {
  Labels labels;
  for (std::size_t i = 0; i < Labels::kMostNames; ++i) {
    ASSERT_TRUE(labels.node("n" + std::to_string(i)));
  }
  EXPECT_FALSE(labels.node("one-more"));
  EXPECT_FALSE(labels.node("0200"));
  EXPECT_TRUE(labels.node("n7"));
  EXPECT_EQ(labels.node_count(), Labels::kMostNames);
}

}  // namespace
}  // namespace fieldfare::fleet
