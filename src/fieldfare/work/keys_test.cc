// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/work/keys.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <string>
#include <vector>

namespace fieldfare::work {

bool operator==(const KeyPress& a, const KeyPress& b) {
  return a.key == b.key && a.character == b.character;
}

namespace {

using ::testing::ElementsAre;
using ::testing::IsEmpty;

constexpr KeyPress kUp{Key::up}, kDown{Key::down}, kEnter{Key::enter}, kEscape{Key::escape};

KeyPress typed(char32_t c) { return {Key::character, c}; }

std::vector<KeyPress> keys(std::string_view bytes) { return KeyDecoder{}.feed(bytes); }

// Sequences: ECMA-48 (CSI 5.4, SS3 8.3.143); CUU is CSI A, CUD is CSI B (8.3.22, 8.3.19). From
// memory.
TEST(Keys, OfArrowsAreReadInBothModesOfTheKeypadAndWithModifiers) {
  EXPECT_THAT(keys("\x1b[A\x1b[B"), ElementsAre(kUp, kDown));
  EXPECT_THAT(keys("\x1bOA\x1bOB"), ElementsAre(kUp, kDown));
  EXPECT_THAT(keys("\x1b[1;5A"), ElementsAre(kUp)) << "with Control held";
}

TEST(Keys, OfPagesEnterBackspaceAndEndAreRead) {
  EXPECT_THAT(keys("\x1b[5~\x1b[6~"),
              ElementsAre(KeyPress{Key::page_up}, KeyPress{Key::page_down}));
  EXPECT_THAT(keys("\r\n"), ElementsAre(kEnter, kEnter));
  EXPECT_THAT(keys("\x7f\x08"), ElementsAre(KeyPress{Key::backspace}, KeyPress{Key::backspace}));
  EXPECT_THAT(keys("\x04"), ElementsAre(KeyPress{Key::end_of_input}));
}

TEST(Keys, ThatMeanNothingHereAreLeftOutWhole) {
  EXPECT_THAT(keys("\x1b[15~\x1b[H\x1b[<35;10;5M\x1bOP\x01\t"), IsEmpty());
  EXPECT_THAT(keys("\x1b[3~p"), ElementsAre(typed(U'p'))) << "what follows is a key again";
}

// UTF-8 of U+00E4, U+20AC and U+1F600: RFC 3629 section 3.
TEST(Keys, OfUtf8AreOneCharacterHoweverTheyAreTorn) {
  EXPECT_THAT(keys("\xC3\xA4\xE2\x82\xAC\xF0\x9F\x98\x80"),
              ElementsAre(typed(0xE4), typed(0x20AC), typed(0x1F600)));
  KeyDecoder decoder;
  EXPECT_THAT(decoder.feed("\xE2\x82"), IsEmpty());
  EXPECT_THAT(decoder.feed("\xAC"), ElementsAre(typed(0x20AC)));
}

TEST(Keys, BytesThatAreNoUtf8AreLeftOutAndTakeNothingWithThem) {
  EXPECT_THAT(keys("a\xFF\xC0\x80\xE2\x82z"), ElementsAre(typed(U'a'), typed(U'z')));
  EXPECT_THAT(keys("\xE2\xE2\x82\xAC"), ElementsAre(typed(0x20AC)));
  EXPECT_THAT(keys("\xC2\x85"), IsEmpty()) << "NEL, a character of control";
  EXPECT_THAT(keys("\xED\xA0\x80"), IsEmpty()) << "a surrogate";
}

TEST(Keys, AnEscapeAloneIsAKeyOnceNothingFollows) {
  KeyDecoder decoder;
  EXPECT_THAT(decoder.feed("\x1b"), IsEmpty());
  EXPECT_TRUE(decoder.waits_for_pause());
  EXPECT_THAT(decoder.pause(), ElementsAre(kEscape));
  EXPECT_THAT(decoder.pause(), IsEmpty());
  EXPECT_THAT(decoder.feed("[A"), ElementsAre(typed(U'['), typed(U'A')));
}

TEST(Keys, AnEscapeBeforeAnotherKeyIsBothKeys) {
  EXPECT_THAT(keys("\x1bq"), ElementsAre(kEscape, typed(U'q')));
  KeyDecoder decoder;
  EXPECT_THAT(decoder.feed("\x1b\x1b"), ElementsAre(kEscape));
  EXPECT_THAT(decoder.pause(), ElementsAre(kEscape));
}

TEST(Keys, ATornArrowIsStillAnArrow) {
  KeyDecoder decoder;
  EXPECT_THAT(decoder.feed("\x1b"), IsEmpty());
  EXPECT_THAT(decoder.feed("["), IsEmpty());
  EXPECT_FALSE(decoder.waits_for_pause());
  EXPECT_THAT(decoder.pause(), IsEmpty()) << "a slow line: the rest will come";
  EXPECT_THAT(decoder.feed("A"), ElementsAre(kUp));
}

TEST(Keys, OfAPasteTypeTextAndPressNothing) {
  EXPECT_THAT(keys("\x1b[200~a\r\nq\x7f\x1b[201~\r"),
              ElementsAre(typed(U'a'), typed(U' '), typed(U' '), typed(U'q'), kEnter));
}

TEST(Keys, OfAPasteWhoseEndWasLostWorkAgainAfterEscape) {
  KeyDecoder decoder;
  EXPECT_THAT(decoder.feed("\x1b[200~a\x1b"), ElementsAre(typed(U'a')));
  EXPECT_THAT(decoder.pause(), ElementsAre(kEscape));
  EXPECT_THAT(decoder.feed("\r"), ElementsAre(kEnter));
}

TEST(Keys, AreTheSameHoweverTheBytesAreDivided) {
  const auto some_bytes = rc::gen::container<std::string>(rc::gen::weightedOneOf<char>(
      {{3, rc::gen::element('\x1b', '[', 'O', 'A', 'B', '~', ';', '5', '2', '0', '1')},
       {1, rc::gen::arbitrary<char>()}}));
  EXPECT_TRUE(rc::check([&] {
    const std::string bytes = *some_bytes;
    KeyDecoder decoder;
    std::vector<KeyPress> pieces;
    for (const char byte : bytes) {
      for (const KeyPress& press : decoder.feed({&byte, 1})) pieces.push_back(press);
    }
    RC_ASSERT(pieces == keys(bytes));
    RC_ASSERT(pieces.size() <= bytes.size());
  }));
}

}  // namespace
}  // namespace fieldfare::work
