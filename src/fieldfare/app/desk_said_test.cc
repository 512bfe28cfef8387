// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/desk_said.h"

#include <gtest/gtest.h>

namespace fieldfare::app {
namespace {

/// What a log of bytes gives back of a deed.
std::optional<work::Deed> kept(const work::Deed& deed) {
  const auto told = said(deed);
  if (!told) return std::nullopt;
  std::string line = wire::byte_log_line(
      {Instant{1'000'000'000}, told->about, wire::ByteEvent::said, {}, told->what});
  line.pop_back();
  wire::LoggedBytes logged;
  EXPECT_EQ(wire::read_byte_line(line, logged), wire::ByteLine::event) << line;
  return deed_of(logged);
}

// Invented.
TEST(DeskSaid, WhatIsSaidReadsBackAsItWas) {
  const auto label = kept(work::TypedLabel{"5CE7"});
  ASSERT_TRUE(label);
  EXPECT_EQ(std::get<work::TypedLabel>(*label).digits, "5CE7");
  const auto provoke = kept(work::DoProvoke{"5CE7"});
  ASSERT_TRUE(provoke);
  EXPECT_EQ(std::get<work::DoProvoke>(*provoke).digits, "5CE7");
  const auto name = kept(work::DoName{"02AA5CE7", "cave 1  north %"});
  ASSERT_TRUE(name);
  EXPECT_EQ(std::get<work::DoName>(*name).key, "02AA5CE7");
  EXPECT_EQ(std::get<work::DoName>(*name).name, "cave 1  north %");
  const auto note = kept(work::DoNote{"label 5CE7", "dented\tcase"});
  ASSERT_TRUE(note);
  EXPECT_EQ(std::get<work::DoNote>(*note).key, "label 5CE7");
  EXPECT_EQ(std::get<work::DoNote>(*note).note, "dented\tcase");
  const auto value = kept(work::DoValue{"02AA5CE7", "temperature_c", 21.4, 0.05});
  ASSERT_TRUE(value);
  EXPECT_EQ(std::get<work::DoValue>(*value).field, "temperature_c");
  EXPECT_EQ(std::get<work::DoValue>(*value).value, 21.4);
  EXPECT_EQ(std::get<work::DoValue>(*value).tolerance, 0.05);
  const auto remind = kept(work::DoRemind{"02AA5CE7", Instant{5'000'000'000}});
  ASSERT_TRUE(remind);
  EXPECT_EQ(std::get<work::DoRemind>(*remind).due, Instant{5'000'000'000});
}

TEST(DeskSaid, SavingAndLeavingSayNothingOfNodes) {
  EXPECT_FALSE(kept(work::DoSave{"site"}));
  EXPECT_FALSE(kept(work::DoLeave{}));
}

TEST(DeskSaid, WordsThatMeanNothingAreNoDeed) {
  for (const char* what : {"", "sing", "value temperature_c warm 1", "remind tomorrow"}) {
    EXPECT_FALSE(deed_of({Instant{1}, "5CE7", wire::ByteEvent::said, {}, what})) << what;
  }
  EXPECT_FALSE(deed_of({Instant{1}, "r1", wire::ByteEvent::stream, {1}, {}}));
}

}  // namespace
}  // namespace fieldfare::app
