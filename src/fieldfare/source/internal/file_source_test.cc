// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/file_source.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include "fieldfare/source/internal/file_place.h"
#include "fieldfare/source/internal/test_recorder.h"

namespace fieldfare::source {
namespace {

namespace fs = std::filesystem;
using test::append;
using test::serve_until;

class FileSourceTest : public testing::Test {
 protected:
  void read(fleet::FileEndpoint endpoint = {}) {
    endpoint.path = path_;
    source_ = make_file_source(endpoint, setting_, loop_, heard_);
    source_->start();
  }
  bool heard(const std::string& octets) {
    return serve_until(loop_, [&] { return heard_.all() == octets; });
  }
  /// A new run of the program, that knows of the old one what it stored.
  void restart_behind(std::uint64_t mark) {
    source_.reset();
    heard_ = {};
    setting_.marks = {1, mark};
    read();
  }

  test::TempFolder folder_;
  std::string path_ = folder_ / "log.csv";
  Setting setting_ = test::setting();
  Loop loop_;
  test::Recorder heard_;
  std::unique_ptr<Source> source_;
};

TEST_F(FileSourceTest, IsReadAsItGrowsFromItsBeginning) {
  append(path_, "one\n");
  read();
  ASSERT_TRUE(heard("one\n"));
  append(path_, "two\nthree\n");
  ASSERT_TRUE(heard("one\ntwo\nthree\n"));
  EXPECT_EQ(heard_.changes.size(), 1u);
  EXPECT_TRUE(heard_.is(Condition::up));
  EXPECT_FALSE(heard_.pieces[0].whole);
}

TEST_F(FileSourceTest, MayBeginAtItsEnd) {
  append(path_, "old\n");
  read({.path = {}, .from_end = true});
  test::serve_what_is_due(loop_);
  append(path_, "new\n");
  EXPECT_TRUE(heard("new\n"));
}

TEST_F(FileSourceTest, WhatAppearsLaterIsAllNew) {
  read({.path = {}, .from_end = true});
  ASSERT_EQ(heard_.changes.size(), 1u);
  EXPECT_EQ(heard_.changes[0].condition, Condition::down);
  EXPECT_EQ(heard_.changes[0].what, "there is no file " + path_ + " yet");
  append(path_, "new\n");
  ASSERT_TRUE(heard("new\n"));
  EXPECT_TRUE(heard_.is(Condition::up));
}

TEST_F(FileSourceTest, ItsFolderMayComeLaterToo) {
  path_ = folder_ / "later/log.csv";
  read();
  EXPECT_TRUE(heard_.is(Condition::down));
  fs::create_directory(folder_ / "later");
  append(path_, "new\n");
  EXPECT_TRUE(heard("new\n"));
}

TEST_F(FileSourceTest, ALineThatHasBegunWaitsForItsEndUntilItsWriterLeavesItAtThat) {
  append(path_, "whole\nhal");
  read();
  ASSERT_TRUE(heard("whole\n"));
  append(path_, "f\n");
  ASSERT_TRUE(heard("whole\nhalf\n"));
  EXPECT_EQ(heard_.pieces.back().octets, "half\n");
  append(path_, "no end");
  EXPECT_TRUE(heard("whole\nhalf\nno end"));
}

TEST_F(FileSourceTest, GoesOnBehindTheMarkAfterARestart) {
  append(path_, "one\n");
  read();
  ASSERT_TRUE(heard("one\n"));
  const std::uint64_t mark = heard_.pieces.back().mark;
  append(path_, "two\n");
  ASSERT_TRUE(heard("one\ntwo\n"));
  restart_behind(mark);
  ASSERT_TRUE(heard("two\n"));
  EXPECT_EQ(heard_.pieces[0].ticket, 1u);
  EXPECT_EQ(heard_.changes.size(), 1u);
}

TEST_F(FileSourceTest, AfterARestartAnotherFileUnderTheNameIsReadFromItsBeginning) {
  append(path_, "one\ntwo\n");
  read();
  ASSERT_TRUE(heard("one\ntwo\n"));
  const std::uint64_t mark = heard_.pieces.back().mark;
  source_.reset();
  fs::remove(path_);
  append(path_, "another, and longer\n");
  restart_behind(mark);
  ASSERT_TRUE(heard("another, and longer\n"));
  EXPECT_TRUE(heard_.tells(Condition::up, "is not what it was: read from its beginning"));
}

TEST_F(FileSourceTest, AfterARestartAShorterFileIsReadFromItsBeginning) {
  append(path_, "one\ntwo\n");
  read();
  ASSERT_TRUE(heard("one\ntwo\n"));
  const std::uint64_t mark = heard_.pieces.back().mark;
  fs::resize_file(path_, 4);
  restart_behind(mark);
  EXPECT_TRUE(heard("one\n"));
}

TEST_F(FileSourceTest, AFileCutShortIsReadFromItsNewBeginning) {
  append(path_, "one\ntwo\n");
  read();
  ASSERT_TRUE(heard("one\ntwo\n"));
  fs::resize_file(path_, 0);
  append(path_, "three\n");
  ASSERT_TRUE(heard("one\ntwo\nthree\n"));
  EXPECT_TRUE(heard_.tells(Condition::up, "was written anew: read from its new beginning"));
}

TEST_F(FileSourceTest, AFileCutShortIsNoticedEvenIfItGrewPastOurPlaceSince) {
  append(path_, "one\ntwo\n");
  read();
  ASSERT_TRUE(heard("one\ntwo\n"));
  fs::resize_file(path_, 0);
  append(path_, "a longer line than before\n");
  EXPECT_TRUE(heard("one\ntwo\na longer line than before\n"));
}

TEST_F(FileSourceTest, AReplacedFileIsReadToItsEndAndThenTheNewOne) {
  append(path_, "one\n");
  read();
  ASSERT_TRUE(heard("one\n"));
  append(path_, "two\nrest");
  fs::rename(path_, path_ + ".1");
  append(path_ + ".new", "three\n");
  fs::rename(path_ + ".new", path_);
  ASSERT_TRUE(heard("one\ntwo\nrestthree\n"));
  EXPECT_TRUE(heard_.tells(Condition::up, "was replaced: read from its new beginning"));
}

TEST_F(FileSourceTest, AWriterThatHasNotComeOverYetIsStillRead) {
  append(path_, "one\n");
  read();
  ASSERT_TRUE(heard("one\n"));
  fs::rename(path_, path_ + ".1");
  append(path_, "");
  test::serve_what_is_due(loop_);
  append(path_ + ".1", "two\n");
  ASSERT_TRUE(heard("one\ntwo\n"));
  append(path_, "three\n");
  EXPECT_TRUE(heard("one\ntwo\nthree\n"));
}

TEST_F(FileSourceTest, AFileThatIsGoneIsToldAndAwaited) {
  append(path_, "one\n");
  read();
  ASSERT_TRUE(heard("one\n"));
  fs::remove(path_);
  ASSERT_TRUE(serve_until(loop_, [&] { return heard_.tells(Condition::down, "is gone"); }));
  append(path_, "two\n");
  ASSERT_TRUE(heard("one\ntwo\n"));
  EXPECT_TRUE(heard_.is(Condition::up));
}

TEST_F(FileSourceTest, AFolderIsNoFile) {
  fs::create_directory(path_);
  read();
  EXPECT_TRUE(heard_.tells(Condition::down, "is no file that could grow"));
}

TEST_F(FileSourceTest, ALargeFileComesInPiecesThatLeaveOthersTheirTurn) {
  std::string text;
  for (int i = 0; text.size() < 5'000'000; ++i) text += "line " + std::to_string(i) + '\n';
  append(path_, text);
  read();
  EXPECT_LT(heard_.all().size(), text.size());
  ASSERT_TRUE(heard(text));
  for (const auto& piece : heard_.pieces) EXPECT_EQ(piece.octets.back(), '\n');
}

TEST_F(FileSourceTest, PausedItTakesNothing) {
  append(path_, "one\n");
  read();
  ASSERT_TRUE(heard("one\n"));
  source_->pause();
  test::serve_what_is_due(loop_);
  append(path_, "two\n");
  test::serve_what_is_due(loop_);
  EXPECT_EQ(heard_.all(), "one\n");
  source_->resume();
  EXPECT_TRUE(heard("one\ntwo\n"));
}

TEST_F(FileSourceTest, MayBeStoppedFromWithin) {
  append(path_, "one\n");
  heard_.on_take = [&] { source_->stop(); };
  read();
  test::serve_what_is_due(loop_);
  append(path_, "two\n");
  test::serve_what_is_due(loop_);
  EXPECT_EQ(heard_.all(), "one\n");
}

TEST(FilePlace, AMarkKnowsItsPlaceAndStaysPositive) {
  FilePlace place;
  EXPECT_EQ(place.mark() & 0xFFFF'FFFF'FFFF, 0u);
  for (int i = 0; i < 1000; ++i) {
    const auto octet = static_cast<std::uint8_t>(i);
    place.advance({&octet, 1});
    EXPECT_EQ(FilePlace::offset_of(place.mark()), place.offset());
    EXPECT_LT(place.mark(), std::uint64_t{1} << 63);
    EXPECT_NE(place.mark(), 0u);
  }
}

}  // namespace
}  // namespace fieldfare::source
