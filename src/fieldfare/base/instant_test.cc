// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/base/instant.h"

#include <gtest/gtest.h>

#include <limits>
#include <string>

#include "fieldfare/base/random.h"

namespace fieldfare {
namespace {

constexpr std::int64_t kSecond = 1'000'000'000;

std::optional<std::int64_t> ns_of(std::string_view text) {
  const auto instant = parse_rfc3339(text);
  return instant ? std::optional{instant->ns} : std::nullopt;
}

TEST(ParseRfc3339, ReadsTheExamplesOfRfc3339Section58) {
  // The moments are printed in RFC 3339 section 5.8; the seconds since 1970
  // were computed with Python's datetime.
  EXPECT_EQ(ns_of("1985-04-12T23:20:50.52Z"), 482'196'050 * kSecond + 520'000'000);
  EXPECT_EQ(ns_of("1996-12-19T16:39:57-08:00"), 851'042'397 * kSecond);
  EXPECT_EQ(ns_of("1996-12-20T00:39:57Z"), 851'042'397 * kSecond);
  EXPECT_EQ(ns_of("1937-01-01T12:00:27.87+00:20"), -1'041'337'172 * kSecond - 130'000'000);
}

TEST(ParseRfc3339, TakesALeapSecondAsTheFirstOfTheNextMinute) {
  // Both examples of RFC 3339 section 5.8 are the same moment.
  EXPECT_EQ(ns_of("1990-12-31T23:59:60Z"), ns_of("1991-01-01T00:00:00Z"));
  EXPECT_EQ(ns_of("1990-12-31T15:59:60-08:00"), ns_of("1991-01-01T00:00:00Z"));
  EXPECT_EQ(ns_of("2016-12-31T23:59:60.5Z"), ns_of("2017-01-01T00:00:00.5Z"));
}

TEST(ParseRfc3339, RefusesALeapSecondWhereNoMonthOfUtcEnds) {
  EXPECT_FALSE(ns_of("1990-12-31T23:58:60Z"));
  EXPECT_FALSE(ns_of("1990-12-31T23:59:60-08:00"));
  EXPECT_FALSE(ns_of("1990-12-30T23:59:60Z"));
  EXPECT_FALSE(ns_of("1990-12-31T23:59:61Z"));
}

TEST(ParseRfc3339, TakesSmallLettersAndABlank) {
  const auto moment = ns_of("2026-03-02T06:15:00.250Z");
  ASSERT_TRUE(moment);
  EXPECT_EQ(ns_of("2026-03-02t06:15:00.25z"), moment);
  EXPECT_EQ(ns_of("2026-03-02 07:15:00.25+01:00"), moment);
  EXPECT_EQ(ns_of("2026-03-01T19:45:00.2500-10:30"), moment);
}

TEST(ParseRfc3339, DropsDecimalsPastTheNinth) {
  EXPECT_EQ(ns_of("1970-01-01T00:00:00.123456789987654321Z"), 123'456'789);
  EXPECT_EQ(ns_of("1970-01-01T00:00:00.0000000009Z"), 0);
}

TEST(ParseRfc3339, KnowsLeapYearsAndTheLengthsOfMonths) {
  EXPECT_TRUE(ns_of("2024-02-29T00:00:00Z"));
  EXPECT_TRUE(ns_of("2000-02-29T00:00:00Z"));
  EXPECT_FALSE(ns_of("1900-02-29T00:00:00Z"));
  EXPECT_FALSE(ns_of("2023-02-29T00:00:00Z"));
  EXPECT_FALSE(ns_of("2024-02-30T00:00:00Z"));
  EXPECT_FALSE(ns_of("2024-04-31T00:00:00Z"));
  EXPECT_FALSE(ns_of("2024-00-01T00:00:00Z"));
  EXPECT_FALSE(ns_of("2024-13-01T00:00:00Z"));
  EXPECT_FALSE(ns_of("2024-01-00T00:00:00Z"));
}

TEST(ParseRfc3339, RefusesWhatIsNotADateTime) {
  for (const char* text : {"",
                           "2026",
                           "2026-03-02",
                           "2026-03-02T07:15:00",
                           "2026-03-02T07:15Z",
                           "2026-03-02T07:15:00.Z",
                           "2026-03-02T24:00:00Z",
                           "2026-03-02T07:60:00Z",
                           "2026-03-02T07:15:00+1:00",
                           "2026-03-02T07:15:00+24:00",
                           "2026-03-02T07:15:00+01:60",
                           "2026-03-02T07:15:00+0100",
                           "2026-03-02T07:15:00Z ",
                           " 2026-03-02T07:15:00Z",
                           "2026/03/02T07:15:00Z",
                           "2026-03-02_07:15:00Z",
                           "2026-03-02T07:15:00,5Z",
                           "2026-03-02T07:15:00ZZ",
                           "202a-03-02T07:15:00Z",
                           "2026-03-02T07:15:00.5"}) {
    EXPECT_FALSE(ns_of(text)) << text;
  }
}

TEST(ParseRfc3339, HoldsToTheNanosecondAtBothEndsOfTheRange) {
  // The ends of 64 bits of nanoseconds, computed with Python's datetime.
  EXPECT_EQ(ns_of("1677-09-21T00:12:43.145224192Z"), std::numeric_limits<std::int64_t>::min());
  EXPECT_FALSE(ns_of("1677-09-21T00:12:43.145224191Z"));
  EXPECT_EQ(ns_of("2262-04-11T23:47:16.854775807Z"), std::numeric_limits<std::int64_t>::max());
  EXPECT_FALSE(ns_of("2262-04-11T23:47:16.854775808Z"));
  EXPECT_FALSE(ns_of("1676-12-31T00:00:00Z"));
  EXPECT_FALSE(ns_of("9999-12-31T00:00:00Z"));
}

TEST(ToRfc3339, WritesAsManyDecimalsInThreesAsTheMomentNeeds) {
  EXPECT_EQ(to_rfc3339(Instant{0}), "1970-01-01T00:00:00Z");
  EXPECT_EQ(to_rfc3339(Instant{250'000'000}), "1970-01-01T00:00:00.250Z");
  EXPECT_EQ(to_rfc3339(Instant{1'000}), "1970-01-01T00:00:00.000001Z");
  EXPECT_EQ(to_rfc3339(Instant{1}), "1970-01-01T00:00:00.000000001Z");
  EXPECT_EQ(to_rfc3339(Instant{-1}), "1969-12-31T23:59:59.999999999Z");
}

TEST(ToRfc3339, IsReadBackToTheSameMoment) {
  RandomStream random{1, "instants"};
  for (int i = 0; i < 20'000; ++i) {
    const Instant instant{static_cast<std::int64_t>(random.next())};
    const std::string text = to_rfc3339(instant);
    ASSERT_EQ(parse_rfc3339(text), instant) << text;
  }
  for (const std::int64_t ns :
       {std::numeric_limits<std::int64_t>::min(), std::numeric_limits<std::int64_t>::max()}) {
    EXPECT_EQ(ns_of(to_rfc3339(Instant{ns})), ns);
  }
}

TEST(ParseDuration, ReadsEveryUnit) {
  EXPECT_EQ(parse_duration("250 ms"), Duration{250'000'000});
  EXPECT_EQ(parse_duration("90 s"), Duration{90 * kSecond});
  EXPECT_EQ(parse_duration("10min"), Duration{600 * kSecond});
  EXPECT_EQ(parse_duration("12 h"), Duration{43'200 * kSecond});
  EXPECT_EQ(parse_duration("5 d"), Duration{432'000 * kSecond});
  EXPECT_EQ(parse_duration("2w"), Duration{1'209'600 * kSecond});
  EXPECT_EQ(parse_duration("1 y"), Duration{31'557'600 * kSecond});
  EXPECT_EQ(parse_duration("0.1 s"), Duration{100'000'000});
  EXPECT_EQ(parse_duration("30.863 s"), Duration{30'863'000'000});
}

TEST(ParseDuration, RefusesEverythingElse) {
  for (const char* text : {"", "s", "90", "-5 s", "+5 s", "5 m", "5 S", "5  s", " 5 s", "5 s ",
                           "nan s", "inf s", "1e3 s", ".5 s", "293 y", "1 year"}) {
    EXPECT_FALSE(parse_duration(text)) << text;
  }
  EXPECT_TRUE(parse_duration("292 y"));
}

}  // namespace
}  // namespace fieldfare
