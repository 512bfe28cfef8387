// SPDX-License-Identifier: Apache-2.0
// What keys do at a desk: sequences of keys, each with what has to come of it. The
// desk stands at Tarn Dairy; it and its nodes are invented.
#include "fieldfare/work/hand.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <rapidcheck.h>

#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/base/utf8.h"

namespace fieldfare::work {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

DeskRow heard(std::string address, std::string name = {}) {
  DeskRow row;
  row.key = row.address = std::move(address);
  row.name = std::move(name);
  row.reports = 1;
  return row;
}

DeskRow label_of_none(std::string digits) {
  DeskRow row;
  row.key = "label " + digits;
  row.digits = std::move(digits);
  return row;
}

/// Somebody at the desk, who presses keys and remembers what was to be done.
class SeatedAtADesk : public ::testing::Test {
 protected:
  SeatedAtADesk() {
    view_.rows = {heard("024D210000005CE7", "cave 1"), heard("024D2100000077E7"),
                  heard("024D2100000061A0")};
    view_.kept_in = "desk.bytes";
  }

  /// `^` is up, `>` down, `<` backspace, `\r` Enter, `\x1b` Escape; the rest itself.
  void press(std::string_view keys) {
    while (!keys.empty()) {
      const std::size_t size = std::max<std::size_t>(1, utf8_character_size(keys));
      press_one(key_of(keys.substr(0, size)));
      keys.remove_prefix(size);
    }
  }

  void press_one(const KeyPress& key) {
    if (auto deed = hand_.press(key, view_)) deeds_.push_back(std::move(*deed));
  }

  template <class Kind>
  const Kind& only_deed() {
    EXPECT_EQ(deeds_.size(), 1U);
    static const Kind none{};
    const Kind* deed = deeds_.empty() ? nullptr : std::get_if<Kind>(&deeds_.front());
    EXPECT_TRUE(deed) << "another deed";
    return deed ? *deed : none;
  }

  const HandState& state() const { return hand_.state(); }

  DeskView view_;
  Hand hand_;
  std::vector<Deed> deeds_;

 private:
  static KeyPress key_of(std::string_view character) {
    switch (character.front()) {
      case '^':
        return {Key::up};
      case '>':
        return {Key::down};
      case '<':
        return {Key::backspace};
      case '\r':
        return {Key::enter};
      case '\x1b':
        return {Key::escape};
      default:
        break;
    }
    if (character == "ä") return {Key::character, U'ä'};
    return {Key::character, static_cast<unsigned char>(character.front())};
  }
};

TEST_F(SeatedAtADesk, ADigitBeginsToFindAndHexLettersThenBelongToIt) {
  press("61a0");
  EXPECT_EQ(state().asking, Asking::find);
  EXPECT_EQ(state().typed, "61A0");
  EXPECT_THAT(state().found, ElementsAre("024D2100000061A0"));
  EXPECT_EQ(state().chosen, "024D2100000061A0") << "the only one is chosen at once";
}

TEST_F(SeatedAtADesk, ASlashBeginsToFindWhereTheFirstDigitIsALetter) {
  press("/a0");
  EXPECT_EQ(state().chosen, "024D2100000061A0");
}

TEST_F(SeatedAtADesk, SeparatorsOfAPrintedLabelAreNoDigits) {
  press("61:a0");
  EXPECT_EQ(state().typed, "61A0");
}

TEST_F(SeatedAtADesk, DigitsThatFitSeveralAreToldWithTheCandidatesAndChooseNone) {
  press("/e7\r");
  EXPECT_EQ(state().asking, Asking::find);
  EXPECT_EQ(state().chosen, "");
  EXPECT_THAT(state().answer, HasSubstr("E7 fits 2 nodes"));
  EXPECT_THAT(state().answer, HasSubstr("024D210000005CE7 (cave 1)"));
  EXPECT_THAT(state().answer, HasSubstr("024D2100000077E7"));
  press("p");
  EXPECT_THAT(deeds_, IsEmpty()) << "nobody is provoked who may be another";
  press("<<77e7\r");
  EXPECT_EQ(state().chosen, "024D2100000077E7");
  EXPECT_EQ(state().asking, Asking::nothing);
}

TEST_F(SeatedAtADesk, ArrowsChooseAmongWhatTheDigitsFit) {
  press("/e7^\r");
  EXPECT_EQ(state().chosen, "024D2100000077E7");
  EXPECT_EQ(state().asking, Asking::nothing);
}

TEST_F(SeatedAtADesk, EnteredDigitsThatFitNoneBecomeALabelOfANodeNotHeardYet) {
  press("99ab\r");
  EXPECT_EQ(only_deed<TypedLabel>().digits, "99AB");
  EXPECT_EQ(state().chosen, "label 99AB");
  EXPECT_EQ(state().asking, Asking::nothing);
}

TEST_F(SeatedAtADesk, FourEnteredDigitsAreALabelAndTwoOnlyChoose) {
  press("/5ce7\r");
  EXPECT_EQ(only_deed<TypedLabel>().digits, "5CE7");
  EXPECT_EQ(state().chosen, "024D210000005CE7");
  deeds_.clear();
  press("/a0\r");
  EXPECT_THAT(deeds_, IsEmpty());
  EXPECT_EQ(state().chosen, "024D2100000061A0");
}

TEST_F(SeatedAtADesk, AChosenLabelStaysChosenWhenItsNodeIsHeard) {
  press("99ab\r");
  deeds_.clear();
  view_.rows.push_back(heard("024D2100000099AB"));
  view_.rows.back().digits = "99AB";
  press("nbrine\r");
  EXPECT_EQ(only_deed<DoName>().key, "024D2100000099AB");
}

TEST_F(SeatedAtADesk, ADigitsOfALabelOfNoNodeAreFoundToo) {
  view_.rows.push_back(label_of_none("99AB"));
  press("/ab\r");
  EXPECT_EQ(state().chosen, "label 99AB");
  EXPECT_THAT(deeds_, IsEmpty());
}

TEST_F(SeatedAtADesk, ProvokingTakesTheTypedDigitsWhetherTheirNodeIsThereOrNot) {
  press("99abp");
  EXPECT_EQ(only_deed<DoProvoke>().digits, "99AB");
  EXPECT_EQ(state().chosen, "label 99AB");
  EXPECT_EQ(state().asking, Asking::nothing);
}

TEST_F(SeatedAtADesk, ProvokingTakesTheChosenRowByItsLabelOrElseItsAddress) {
  view_.rows[1].digits = "B0D4";
  press(">>p");
  EXPECT_EQ(only_deed<DoProvoke>().digits, "B0D4");
  deeds_.clear();
  press(">p");
  EXPECT_EQ(only_deed<DoProvoke>().digits, "024D2100000061A0");
}

TEST_F(SeatedAtADesk, ProvokingWithoutAChoiceSaysWhatToDo) {
  press("p");
  EXPECT_THAT(deeds_, IsEmpty());
  EXPECT_THAT(state().answer, HasSubstr("digits of its label"));
}

TEST_F(SeatedAtADesk, LettersOtherThanHexAreCommandsForWhatWasFound) {
  press("61a0nbrine\r");
  EXPECT_EQ(only_deed<DoName>().key, "024D2100000061A0");
  EXPECT_EQ(only_deed<DoName>().name, "brine");
}

TEST_F(SeatedAtADesk, UpAndDownStopAtTheEnds) {
  press(">");
  EXPECT_EQ(state().chosen, view_.rows[0].key);
  press("^");
  EXPECT_EQ(state().chosen, view_.rows[0].key);
  press(">>>>>");
  EXPECT_EQ(state().chosen, view_.rows[2].key);
}

TEST_F(SeatedAtADesk, EnterShowsTheChosenOneAndEscapeGoesBack) {
  press("\r");
  EXPECT_FALSE(state().shows_one);
  EXPECT_THAT(state().answer, HasSubstr("choose"));
  press(">\r");
  EXPECT_TRUE(state().shows_one);
  press("\x1b");
  EXPECT_FALSE(state().shows_one);
  EXPECT_EQ(state().chosen, view_.rows[0].key);
  press("\x1b");
  EXPECT_EQ(state().chosen, "");
}

TEST_F(SeatedAtADesk, ANameIsTypedFromTheOldOneAndLettersThatAreCommandsBelongToIt) {
  press(">n");
  EXPECT_EQ(state().typed, "cave 1");
  press("<<<<<<quäp?\r");
  EXPECT_EQ(only_deed<DoName>().name, "quäp?");
}

TEST_F(SeatedAtADesk, BackspaceTakesACharacterNotAByte) {
  press(">n<<<<<<ää<");
  EXPECT_EQ(state().typed, "ä");
}

TEST_F(SeatedAtADesk, EscapeDropsWhatWasTyped) {
  press(">tleaks\x1b");
  EXPECT_EQ(state().asking, Asking::nothing);
  EXPECT_THAT(deeds_, IsEmpty());
  press("t");
  EXPECT_EQ(state().typed, "");
}

TEST_F(SeatedAtADesk, ANoteIsTrimmed) {
  press(">t  at the door \r");
  EXPECT_EQ(only_deed<DoNote>().note, "at the door");
}

TEST_F(SeatedAtADesk, AValueHasAToleranceOfHalfItsLastDigit) {
  press(">vtemperature_c 21.4\r");
  EXPECT_EQ(only_deed<DoValue>().field, "temperature_c");
  EXPECT_DOUBLE_EQ(only_deed<DoValue>().value, 21.4);
  EXPECT_DOUBLE_EQ(only_deed<DoValue>().tolerance, 0.05);
  deeds_.clear();
  press("vpressure_hpa=1013\r");
  EXPECT_DOUBLE_EQ(only_deed<DoValue>().tolerance, 0.5);
  deeds_.clear();
  press("vtemperature_c -3,25\r");
  EXPECT_DOUBLE_EQ(only_deed<DoValue>().value, -3.25);
  EXPECT_DOUBLE_EQ(only_deed<DoValue>().tolerance, 0.005);
}

TEST_F(SeatedAtADesk, AValueWithoutAFieldIsThatOfTheOnlyReading) {
  view_.rows[0].readings = {{"temperature_c", 20.0}};
  press(">v21.4\r");
  EXPECT_EQ(only_deed<DoValue>().field, "temperature_c");
  deeds_.clear();
  view_.rows[0].readings.push_back({"humidity_pct", 45.0});
  press("v21.4\r");
  EXPECT_THAT(deeds_, IsEmpty());
}

TEST_F(SeatedAtADesk, AValueThatCannotBeReadIsToldAndStaysToBeMended) {
  for (const char* wrong :
       {"21.4", "temperature 21.4", "temperature_c warm", "temperature_c", ""}) {
    press(">v");
    press(wrong);
    press("\r");
    EXPECT_THAT(deeds_, IsEmpty()) << wrong;
    EXPECT_THAT(state().answer, HasSubstr("temperature_c 21.4")) << wrong;
    EXPECT_EQ(state().typed, wrong);
    press("\x1b");
  }
}

TEST_F(SeatedAtADesk, SavingAsksForAFolderAndProposesOne) {
  press("s\r");
  EXPECT_EQ(only_deed<DoSave>().folder, "desk-site");
  deeds_.clear();
  view_.saved_in = "barn";
  press("s<<<<");
  press("\r");
  EXPECT_THAT(deeds_, IsEmpty());
  EXPECT_THAT(state().answer, HasSubstr("needs a name"));
  press("dairy\r");
  EXPECT_EQ(only_deed<DoSave>().folder, "dairy");
}

TEST_F(SeatedAtADesk, RemindingIsOfTheChosenOne) {
  press("r");
  EXPECT_THAT(deeds_, IsEmpty());
  press(">r");
  EXPECT_EQ(only_deed<DoRemind>().key, view_.rows[0].key);
}

TEST_F(SeatedAtADesk, LeavingWithoutSavingAsksOnce) {
  press("q");
  EXPECT_THAT(deeds_, IsEmpty());
  EXPECT_EQ(state().asking, Asking::leave);
  press("\x1b");
  EXPECT_EQ(state().asking, Asking::nothing);
  press("qs");
  EXPECT_EQ(state().asking, Asking::folder);
  press("\x1bqq");
  only_deed<DoLeave>();
}

TEST_F(SeatedAtADesk, LeavingASavedDeskOrOneThatHeardNothingAsksNothing) {
  view_.saved_in = "barn";
  press("q");
  only_deed<DoLeave>();
  deeds_.clear();
  view_.saved_in.clear();
  view_.rows.clear();
  press("q");
  only_deed<DoLeave>();
}

TEST_F(SeatedAtADesk, ATerminalThatIsGoneLeavesWhateverIsBeingTyped) {
  press(">nbri");
  press_one({Key::end_of_input});
  only_deed<DoLeave>();
}

TEST_F(SeatedAtADesk, HelpGoesWithTheNextKeyThatMeansSomething) {
  press("?");
  EXPECT_TRUE(state().shows_help);
  press("?");
  EXPECT_FALSE(state().shows_help);
  press("?\x1b");
  EXPECT_FALSE(state().shows_help);
  press("?61a0");
  EXPECT_FALSE(state().shows_help);
  EXPECT_EQ(state().typed, "61A0");
}

TEST_F(SeatedAtADesk, AnUnknownKeyIsTold) {
  press("x");
  EXPECT_THAT(state().answer, HasSubstr("?"));
}

TEST_F(SeatedAtADesk, AnAnswerStaysUntilTheNextKey) {
  hand_.tell("named brine");
  EXPECT_EQ(state().answer, "named brine");
  press(">");
  EXPECT_EQ(state().answer, "");
}

TEST_F(SeatedAtADesk, TextsAreBounded) {
  press(">t");
  for (int i = 0; i < 1000; ++i) press("ä");
  EXPECT_EQ(state().typed.size(), 400U) << "two bytes each";
  press("\x1b/");
  for (int i = 0; i < 100; ++i) press("5");
  EXPECT_EQ(state().typed, std::string(16, '5'));
}

TEST_F(SeatedAtADesk, ARowThatWentAwayWhileItsNameWasTypedIsTold) {
  press(">nbrine");
  view_.rows.clear();
  press("\r");
  EXPECT_THAT(deeds_, IsEmpty());
  EXPECT_THAT(state().answer, HasSubstr("no longer"));
}

TEST(AnyKeys, LeaveTextsBoundedAndWellFormedAndChooseOnlyWhatIsThere) {
  EXPECT_TRUE(rc::check([] {
    DeskView view;
    view.rows = {heard("024D210000005CE7"), heard("kitchen"), label_of_none("99AB")};
    Hand hand;
    for (int i = *rc::gen::inRange(0, 200); i > 0; --i) {
      const auto key = static_cast<Key>(*rc::gen::inRange(0, 8));
      const char32_t character =
          *rc::gen::oneOf(rc::gen::map(rc::gen::element('/', 'n', 't', 'v', 'p', 's', 'q', '?', '5',
                                                        'C', 'e', '7', ' ', '9', 'a', 'b'),
                                       [](char c) { return static_cast<char32_t>(c); }),
                          rc::gen::inRange<char32_t>(0, 0x120000));
      const auto deed = hand.press({key, character}, view);
      const HandState& state = hand.state();
      RC_ASSERT(state.typed.size() <= 800U);
      RC_ASSERT(well_formed_size(state.typed) == state.typed.size());
      if (const auto* provoked = deed ? std::get_if<DoProvoke>(&*deed) : nullptr) {
        RC_ASSERT(!provoked->digits.empty() && provoked->digits.size() <= 16U);
      }
      if (!state.chosen.empty() && !state.chosen.starts_with("label ")) {
        RC_ASSERT(chosen_row(state, view) != nullptr);
      }
    }
  }));
}

}  // namespace
}  // namespace fieldfare::work
