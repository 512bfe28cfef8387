// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/complaint.h"

#include <gtest/gtest.h>

namespace fieldfare {
namespace {

TEST(Complaint, NamesFileLineAndColumnBeforeWhatIsWrongAndTheRemedy) {
  const Complaint complaint{
      {"site.toml", 3, 7}, "no such key `intervall`", "did you mean `interval`?"};
  EXPECT_EQ(complaint.text(), "site.toml:3:7: no such key `intervall`; did you mean `interval`?");
}

TEST(Complaint, LeavesOutWhatIsNotKnown) {
  EXPECT_EQ((Complaint{{"a.csv", 3, 0}, "cut short", ""}.text()), "a.csv:3: cut short");
  EXPECT_EQ((Complaint{{"a.csv", 0, 0}, "is empty", "a header row"}.text()),
            "a.csv: is empty; a header row");
  EXPECT_EQ((Complaint{{}, "no log given", "--log FILE"}.text()), "no log given; --log FILE");
}

TEST(Complaint, AColumnWithoutALineIsNotShown) {
  EXPECT_EQ((Complaint{{"a.csv", 0, 4}, "is empty", ""}.text()), "a.csv: is empty");
}

}  // namespace
}  // namespace fieldfare
