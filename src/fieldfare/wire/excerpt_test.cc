// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/excerpt.h"

#include <gtest/gtest.h>
#include <rapidcheck.h>
#include <simdjson.h>

namespace fieldfare::wire {
namespace {

TEST(Excerpt, EscapesWhatWouldDriveATerminal) {
  EXPECT_EQ(excerpt("\x1B[2Jred\x07"), "\\x1B[2Jred\\x07");
  EXPECT_EQ(excerpt(std::string_view{"a\0b", 3}), "a\\x00b");
  EXPECT_EQ(excerpt("\x7F"), "\\x7F");
  EXPECT_EQ(excerpt("\xC2\x9B"
                    "0m"),
            "\\xC2\\x9B0m");  // CSI as a C1 control
}

TEST(Excerpt, KeepsLettersOfAllScriptsAndCutsBetweenThem) {
  EXPECT_EQ(excerpt("K\xC3\xA4se"), "K\xC3\xA4se");
  EXPECT_EQ(excerpt("K\xC3\xA4se", 2), "K...");
  EXPECT_EQ(excerpt("K\xC3\xA4se", 3), "K\xC3\xA4...");
  EXPECT_EQ(excerpt("abc", 3), "abc");
}

// RFC 3629 section 4 and the examples of ill-formed sequences in its section 3:
// an overlong NUL, a surrogate, a character past U+10FFFF, a lone continuation.
TEST(Excerpt, TakesIllFormedUtf8AsBytes) {
  EXPECT_EQ(excerpt("\xC0\x80"), "\\xC0\\x80");
  EXPECT_EQ(excerpt("\xED\xA0\x80"), "\\xED\\xA0\\x80");
  EXPECT_EQ(excerpt("\xF4\x90\x80\x80"), "\\xF4\\x90\\x80\\x80");
  EXPECT_EQ(excerpt("\x80"), "\\x80");
  EXPECT_EQ(excerpt("\xE2\x82"), "\\xE2\\x82");
}

// Reference: the UTF-8 validation of the simdjson library.
TEST(Utf8CharacterSize, AgreesWithALibraryOnWhatIsUtf8) {
  EXPECT_TRUE(rc::check([] {
    const auto bytes = *rc::gen::container<std::string>(rc::gen::oneOf(
        rc::gen::arbitrary<char>(),
        rc::gen::element('\xC3', '\xA4', '\xED', '\xE0', '\xF4', '\x8F', '\xBF', 'a')));
    RC_ASSERT((well_formed_size(bytes) == bytes.size()) == simdjson::validate_utf8(bytes));
    RC_ASSERT(simdjson::validate_utf8(excerpt(bytes)));
  }));
}

}  // namespace
}  // namespace fieldfare::wire
