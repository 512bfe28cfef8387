// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/time_reader.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <string>
#include <vector>

namespace fieldfare::wire {
namespace {

// The plain parser of RFC 3339 is the reference; it has its own tests.
TEST(TimeReader, AgreesWithThePlainParserInAnyOrder) {
  TimeReader reader;
  for (const char* text : {"2026-03-02T07:15:00.250Z",
                           "2026-03-02T07:15:00Z",
                           "2026-03-02T07:15:60Z",
                           "2026-03-02T24:00:00Z",
                           "2026-03-02T07:60:00Z",
                           "2026-03-02T07:15:00.Z",
                           "2026-03-02T07:15:00.1234567890Z",
                           "2026-03-02t07:15:00z",
                           "2026-03-02 07:15:00Z",
                           "2026-03-02T07:15:00+01:00",
                           "2026-03-02T07:15:00.25-00:30",
                           "2026-03-02T07:15:00",
                           "2026-03-02T",
                           "2026-03-02",
                           "",
                           "2026-02-29T00:00:00Z",
                           "2024-02-29T23:59:59.999999999Z",
                           "2026-03-02T0 :15:00Z",
                           "2026-03-02T07:15:0xZ",
                           "2026-03-02T07:15:00.2x0Z",
                           "1677-09-21T00:12:43.145224193Z",
                           "1677-09-21T00:12:44Z",
                           "2262-04-11T23:47:16.854775807Z",
                           "2262-04-11T23:59:59Z",
                           "2262-04-11T00:00:00Z",
                           "1970-01-01T00:00:02Z",
                           "2026-03-02T07:15:00.25ZZ",
                           "2026-03-02T07:15:00,250Z"}) {
    for (int again = 0; again < 2; ++again) {
      EXPECT_EQ(reader.read(text), parse_rfc3339(text)) << text;
    }
  }
}

TEST(TimeReader, AgreesWithThePlainParserOnDamagedTimes) {
  EXPECT_TRUE(rc::check([] {
    TimeReader reader;
    reader.read("2026-03-02T00:00:00Z");
    std::string text = "2026-03-02T07:15:00.250Z";
    const auto at = *rc::gen::inRange<std::size_t>(0, text.size());
    text[at] = *rc::gen::elementOf(std::string{"0123456789:.TZ+- x"});
    RC_ASSERT(reader.read(text) == parse_rfc3339(text));
    RC_ASSERT(reader.read("2026-03-02T07:15:00Z") == parse_rfc3339("2026-03-02T07:15:00Z"));
  }));
}

TEST(BelievedClock, BeginsIn2000AndEndsWith32BitSeconds) {
  EXPECT_FALSE(is_believed(*parse_rfc3339("1999-12-31T23:59:59.999999999Z")));
  EXPECT_TRUE(is_believed(*parse_rfc3339("2000-01-01T00:00:00Z")));
  EXPECT_TRUE(is_believed(*parse_rfc3339("2038-01-19T03:14:06.999999999Z")));
  EXPECT_FALSE(is_believed(*parse_rfc3339("2038-01-19T03:14:07Z")));
}

}  // namespace
}  // namespace fieldfare::wire
