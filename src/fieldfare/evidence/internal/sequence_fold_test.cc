// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/evidence/internal/sequence_fold.h"

#include <gtest/gtest.h>

#include <cstdint>
#include <string>
#include <vector>

#include "fieldfare/evidence/internal/archive.h"
#include "fieldfare/evidence/test_support.h"

namespace fieldfare::evidence::internal {
namespace {

constexpr NodeFacts kEightBits{.sequence_bits = std::uint8_t{8}, .interval = std::nullopt};

/// Feeds numbers to a fold, a minute apart unless told otherwise, and notes what it
/// makes of them: `7` a report, `7+` one heard again elsewhere, `7=` a duplicate,
/// `7<` a late report, `7?` a stray, `7!` a stray placed, `|` reset, `/` jump,
/// `-` standstill.
class Log final : private SequenceListener {
 public:
  explicit Log(NodeFacts facts = {.sequence_bits = std::uint8_t{16}, .interval = std::nullopt})
      : fold_{facts} {}

  Log& hear(std::uint32_t number, std::uint32_t receiver = 0) {
    time_ns_ += kMinuteNs;
    return hear_now(number, receiver);
  }
  /// At the same moment as the row before.
  Log& hear_now(std::uint32_t number, std::uint32_t receiver = 0, std::uint8_t more = 0) {
    Entry entry = numbered(++time_ns_, number, receiver);
    entry.has |= more;
    fold_.add(entry, *this);
    return *this;
  }
  Log& implausible(std::uint32_t number) {
    time_ns_ += kMinuteNs;
    return hear_now(number, 0, Entry::kImplausible);
  }
  Log& hear_all(std::uint32_t first, std::uint32_t last) {
    for (std::uint32_t number = first; number <= last; ++number) hear(number);
    return *this;
  }
  Log& pass(std::int64_t minutes) {
    time_ns_ += minutes * kMinuteNs;
    return *this;
  }
  Log& finish() {
    fold_.finish(*this);
    return *this;
  }
  Log& save_and_restore() {
    StateWriter writer;
    writer(fold_);
    const std::string bytes = writer.take();
    StateReader reader{bytes};
    reader.map_receivers({0, 1, 2, 3});
    fold_ = SequenceFold{{.sequence_bits = std::uint8_t{16}, .interval = std::nullopt}};
    reader(fold_);
    EXPECT_TRUE(reader.ok() && reader.at_end());
    return *this;
  }
  /// Forgets what was noted so far.
  Log& now() {
    notes_.clear();
    return *this;
  }

  const std::string& notes() const { return notes_; }
  const CounterRun& run() const { return fold_.run(); }
  int reports() const { return reports_; }
  int strays() const { return strays_; }

 private:
  unsigned link_of(const Entry& entry) override { return entry.receiver; }
  void on_report(const Entry& entry, std::uint64_t, Place place) override {
    ++reports_;
    note(entry, place == Place::late ? "<" : "");
  }
  void on_repeat(const Entry& entry, bool same_receiver) override {
    note(entry, same_receiver ? "=" : "+");
  }
  void on_stray(const Entry& entry) override {
    ++strays_;
    note(entry, "?");
  }
  void on_stray_placed(const Entry& entry, std::uint64_t) override {
    --strays_;
    ++reports_;
    note(entry, "!");
  }
  void on_break(std::int64_t, BreakKind kind) override {
    notes_ += kind == BreakKind::reset ? "| " : kind == BreakKind::jump ? "/ " : "- ";
  }
  void note(const Entry& entry, const char* mark) {
    notes_ += std::to_string(entry.sequence) + mark + " ";
  }

  SequenceFold fold_;
  std::int64_t time_ns_ = 0;
  std::string notes_;
  int reports_ = 0;
  int strays_ = 0;
};

TEST(SequenceFold, OneFrameByThreeReceiversIsOneReport) {
  Log log;
  log.hear(5, 0).hear_now(5, 1).hear_now(5, 2).hear(6, 2).hear_now(6, 0);
  EXPECT_EQ(log.notes(), "5 5+ 5+ 6 6+ ");
  EXPECT_EQ(log.run().expected(), 2U);
}

TEST(SequenceFold, TheSameReportAgainThroughTheSameReceiverIsADuplicate) {
  EXPECT_EQ(Log{}.hear(5).hear_now(5).hear_now(5, 1).hear_now(5, 1).notes(), "5 5= 5+ 5= ");
}

TEST(SequenceFold, ARowOrTwoThatDoNotFitAreStraysOnceTheRunGoesOn) {
  EXPECT_EQ(Log{}.hear_all(1000, 1009).now().hear(40'000).hear(1011).notes(), "40000? 1011 ");
  EXPECT_EQ(Log{}.hear_all(1000, 1009).now().hear(40'000).hear(3).hear(1012).notes(),
            "40000? 3? 1012 ");
}

TEST(SequenceFold, ThreeRowsThatMakeARunOfTheirOwnAreAReset) {
  Log log;
  log.hear_all(1000, 1009).now().hear(0).hear(1);
  EXPECT_EQ(log.notes(), "");
  log.hear(2);
  EXPECT_EQ(log.notes(), "| 0 1 2 ");
  EXPECT_EQ(log.run().expected(), 13U);
}

TEST(SequenceFold, ThreeRowsFarAheadAreAJump) {
  Log log;
  log.hear_all(1000, 1009).now().hear(40'000).hear(40'001).hear(40'002);
  EXPECT_EQ(log.notes(), "/ 40000 40001 40002 ");
  EXPECT_EQ(log.run().expected(), 13U);
}

TEST(SequenceFold, TheEndOfTheRowsDecidesByHowSoonAfterAStartTheNumberIs) {
  EXPECT_EQ(Log{}.hear_all(1000, 1009).now().hear(1).finish().notes(), "| 1 ");
  EXPECT_EQ(Log{}.hear_all(1000, 1009).now().hear(100).finish().notes(), "100? ");
  EXPECT_EQ(Log{}.hear_all(1000, 1009).now().hear(40'000).finish().notes(), "40000? ");
}

TEST(SequenceFold, ARestartBeforeTheChainBeginsTheRunToo) {
  // Two starts of which the first came no further than one report.
  EXPECT_EQ(Log{}.hear_all(1000, 1009).now().hear(0).hear(0).hear(1).hear(2).notes().substr(0, 4),
            "| 0 ");
}

TEST(SequenceFold, LateReportsFillTheirHolesAndAreNoReset) {
  Log log;
  log.hear_all(1000, 1005).hear(1010).now();
  log.hear(1006).hear(1007).hear(1008).hear(1009);
  EXPECT_EQ(log.notes(), "");
  log.hear(1015);
  EXPECT_EQ(log.notes(), "1006< 1007< 1008< 1009< 1015 ");
  EXPECT_EQ(log.run().expected(), 16U);
}

TEST(SequenceFold, LateReportsAtTheEndAreNoReset) {
  Log log;
  log.hear_all(1000, 1005).hear(1010).now();
  log.hear(1006).hear(1007).hear(1008).finish();
  EXPECT_EQ(log.notes(), "1006< 1007< 1008< ");
}

TEST(SequenceFold, ALateReportGivenTwiceIsADuplicate) {
  Log log;
  log.hear_all(1000, 1005).hear(1010).now();
  log.hear(1007).hear_now(1007).hear_now(1007, 1).hear(1011 + 2).finish();
  EXPECT_EQ(log.notes(), "1007< 1007+ 1007= 1013 ");
}

TEST(SequenceFold, TheSameNumberAfterALongSilenceIsAStandstill) {
  Log log;
  log.hear_all(1000, 1009).now().pass(600).hear(1009).hear(1010);
  EXPECT_EQ(log.notes(), "- 1009 1010 ");
  EXPECT_EQ(log.run().expected(), 12U);
}

TEST(SequenceFold, AnEightBitCounterGoesRoundWithoutABreak) {
  Log log(kEightBits);
  for (std::uint32_t number = 100; number < 1400; ++number) log.hear(number % 256);
  EXPECT_EQ(log.notes().find_first_of("|/-?<"), std::string::npos);
  EXPECT_EQ(log.run().expected(), 1300U);
}

TEST(SequenceFold, ANumberTheCounterCannotHoldIsAStray) {
  EXPECT_EQ(Log(kEightBits).hear_all(1, 3).now().hear(256).hear(5).notes(), "256? 5 ");
  Log log;
  log.hear_all(1, 3).now().hear_now(9, 0, Entry::kImpossibleSequence).hear(5);
  EXPECT_EQ(log.notes(), "9? 5 ");
}

TEST(SequenceFold, ImplausibleRowsNeitherResetNorJumpNorStandStill) {
  for (const std::uint32_t from : {0U, 30'000U}) {
    Log log;
    log.hear_all(1000, 1009).now();
    for (std::uint32_t number = from; number < from + 5; ++number) log.implausible(number);
    log.hear(1015).finish();
    EXPECT_EQ(log.notes().find_first_of("|/-"), std::string::npos) << from;
    EXPECT_EQ(log.strays(), 5) << from;
  }
  EXPECT_EQ(Log{}.hear_all(1000, 1009).now().pass(600).implausible(1009).notes(), "1009? ");
}

TEST(SequenceFold, AnImplausibleRowThatTheClockBearsOutIsAReport) {
  EXPECT_EQ(Log{}.hear_all(1000, 1009).now().implausible(1010).hear(1011).notes(), "1010 1011 ");
}

TEST(SequenceFold, AStrayAheadIsPlacedOnceTheRunHasPassedIt) {
  // The row with the far number came before its time by a receiver's wrong clock.
  Log log;
  log.hear_all(1000, 1009).now().hear(1200).hear(1011);
  EXPECT_EQ(log.notes(), "1200? 1011 ");
  log.now();
  log.hear_all(1012, 1199);
  log.hear(1201);
  EXPECT_EQ(log.notes().substr(log.notes().size() - 11), "1201 1200! ");
  EXPECT_EQ(log.strays(), 0);
}

TEST(SequenceFold, GoesOnAfterSavingAndRestoringWhateverIsSetAside) {
  RandomStream random{5, "saved"};
  for (int trial = 0; trial < 20; ++trial) {
    Log whole;
    Log parted;
    std::uint32_t number = 500;
    for (int row = 0; row < 200; ++row) {
      const std::uint64_t lot = random.below(20);
      if (lot == 0) number = static_cast<std::uint32_t>(random.below(3));
      if (lot == 1) number += 1 + static_cast<std::uint32_t>(random.below(20'000));
      const std::uint32_t sent = lot == 2 && number > 20 ? number - 15 : ++number;
      const auto receiver = static_cast<std::uint32_t>(random.below(3));
      whole.hear(sent & 0xFFFFU, receiver);
      parted.hear(sent & 0xFFFFU, receiver).save_and_restore();
    }
    EXPECT_EQ(whole.finish().notes(), parted.finish().notes());
  }
}

TEST(SequenceFold, CountsEveryReportOfAnyInputWithinWhatItExpected) {
  // Whatever comes: reports never outnumber expected ones, and each row is told once.
  RandomStream random{6, "any"};
  for (int trial = 0; trial < 200; ++trial) {
    Log log(trial % 2 == 0 ? kEightBits : NodeFacts{});
    for (int row = 0; row < 300; ++row) {
      const std::uint32_t near = static_cast<std::uint32_t>(row) + 200;
      const bool wild = random.bernoulli(0.3);
      const auto number = static_cast<std::uint32_t>(wild ? random.below(256) : near % 256);
      if (random.bernoulli(0.02)) log.pass(static_cast<std::int64_t>(random.below(2000)));
      log.hear(number, static_cast<std::uint32_t>(random.below(2)));
    }
    log.finish();
    EXPECT_LE(static_cast<std::uint64_t>(log.reports()), log.run().expected()) << trial;
  }
}

}  // namespace
}  // namespace fieldfare::evidence::internal
