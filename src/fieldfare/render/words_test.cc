// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/render/words.h"

#include <gtest/gtest.h>

#include <string>

namespace fieldfare::render {
namespace {

constexpr std::int64_t kSecond = 1'000'000'000;
Duration seconds(std::int64_t s) { return Duration{s * kSecond}; }

TEST(Duration, IsSaidInAtMostTwoUnits) {
  EXPECT_EQ(duration_words(seconds(7 * 60 + 1)), "7 min 1 s");
  EXPECT_EQ(duration_words(seconds(2 * 3600 + 5 * 60)), "2 h 5 min");
  EXPECT_EQ(duration_words(seconds(19 * 3600 + 13 * 60 + 37)), "19 h 13 min");
  // Two silences of that length are on record; 4,194,304 s = 2^32 / 1,024.
  EXPECT_EQ(duration_words(seconds(4'194'304)), "48 d 13 h");
  EXPECT_EQ(duration_words(seconds(3600)), "1 h");
  EXPECT_EQ(duration_words(seconds(3605)), "1 h");
}

TEST(Duration, BelowAMinuteKeepsDecimals) {
  EXPECT_EQ(duration_words(Duration{31'020'000'000}), "31.02 s");
  EXPECT_EQ(duration_words(Duration{250'000'000}), "250 ms");
  EXPECT_EQ(duration_words(Duration{0}), "0 ms");
  EXPECT_EQ(duration_words(Duration{59'999'000'000}), "1 min");
}

TEST(Duration, BackwardsHasAMinusSign) { EXPECT_EQ(duration_words(seconds(-90)), "-1 min 30 s"); }

TEST(Count, IsGroupedInThousands) {
  EXPECT_EQ(count_words(0), "0");
  EXPECT_EQ(count_words(999), "999");
  EXPECT_EQ(count_words(6585), "6,585");
  EXPECT_EQ(count_words(10'200'000), "10,200,000");
  EXPECT_EQ(counted(1, "node", "nodes"), "1 node");
  EXPECT_EQ(counted(2, "node", "nodes"), "2 nodes");
}

TEST(Share, NeverReadsAHundredUnlessItIs) {
  EXPECT_EQ(share_words(0.973, 0.951, 0.986), "97.3 % (95.1 to 98.6)");
  EXPECT_EQ(share_words(0.9998, 0.9991, 0.99996), "99.98 % (99.91 to 100.00)");
  EXPECT_EQ(share_words(1, 0.78, 1), "100 % (78.0 to 100)");
  EXPECT_EQ(share_words(0, 0, 0.2), "0 % (0 to 20.0)");
}

TEST(UntrustedText, CannotDriveTheTerminalOrTurnTheWriting) {
  EXPECT_EQ(safe_text("cave\x1b[2J\a", true), "cave\\x1B[2J\\x07");
  EXPECT_EQ(safe_text("a\u202Eb", true), "a\\u{202E}b");  // right-to-left override
  EXPECT_EQ(safe_text("a\u2066b", true), "a\\u{2066}b");  // isolate
  EXPECT_EQ(safe_text("a\u200Bb", true), "a\\u{200B}b");  // no width
  EXPECT_EQ(safe_text("\u009B2J", true), "\\u{009B}2J");  // C1 control
  EXPECT_EQ(safe_text("\xFFhi", true), "\\xFFhi");
  EXPECT_EQ(safe_text("Käse", true), "Käse");
  EXPECT_EQ(safe_text("Käse", false), "K\\u{00E4}se");
}

TEST(Fit, FillsOrCutsToTheWidth) {
  EXPECT_EQ(fit("brine", 8, true), "brine   ");
  EXPECT_EQ(fit("ripening cave", 8, true), "ripenin…");
  EXPECT_EQ(fit("ripening cave", 8, false), "ripenin~");
  EXPECT_EQ(columns(fit("Käsekeller", 5, true)), 5U);
}

TEST(Wrap, KeepsLinesWithinTheWidth) {
  EXPECT_EQ(wrap("one two three", 7, 2), "one two\n  three");
  EXPECT_EQ(wrap("one", 2, 2), "one");
  EXPECT_EQ(wrap("", 10, 2), "");
}

TEST(Wrap, KeepsAUnitBesideItsNumber) {
  EXPECT_EQ(wrap("silent for 19 h 13 min), then", 17, 0), "silent for 19 h\n13 min), then");
}

}  // namespace
}  // namespace fieldfare::render
