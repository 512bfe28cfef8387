// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/pipe_source.h"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>

#include "fieldfare/source/internal/test_recorder.h"

namespace fieldfare::source {
namespace {

using test::append;
using test::serve_until;

class PipeSourceTest : public testing::Test {
 protected:
  void read(const std::string& path) {
    source_ = make_pipe_source({path}, setting_, loop_, heard_);
    source_->start();
  }
  bool heard(const std::string& octets) {
    return serve_until(loop_, [&] { return heard_.all() == octets; });
  }

  test::TempFolder folder_;
  Setting setting_ = test::setting();
  Loop loop_;
  test::Recorder heard_;
  std::unique_ptr<Source> source_;
};

TEST_F(PipeSourceTest, ANamedPipeWaitsForTheNextWriter) {
  ASSERT_EQ(mkfifo((folder_ / "fifo").c_str(), 0600), 0);
  setting_.base_folder = folder_.path();
  read("fifo");
  std::string all;
  for (int writer = 0; writer < 5; ++writer) {
    append(folder_ / "fifo", "from " + std::to_string(writer) + '\n');
    all += "from " + std::to_string(writer) + '\n';
    ASSERT_TRUE(heard(all));
  }
  EXPECT_EQ(heard_.changes.size(), 1u);
  EXPECT_TRUE(heard_.is(Condition::up));
  EXPECT_EQ(heard_.pieces.back().mark, 0u);
}

TEST_F(PipeSourceTest, AWriterThatIsQuickIsNotLostBetweenTwoReaders) {
  ASSERT_EQ(mkfifo((folder_ / "fifo").c_str(), 0600), 0);
  read(folder_ / "fifo");
  std::string all;
  for (int i = 0; i < 200; ++i) {
    append(folder_ / "fifo", "x");  // in between, the loop does one thing at a time
    all += 'x';
    loop_.impl().io.poll_one();
  }
  EXPECT_TRUE(heard(all));
}

TEST_F(PipeSourceTest, AMissingPipeIsToldAndTakenWhenItIsMade) {
  read(folder_ / "fifo");
  ASSERT_TRUE(heard_.tells(Condition::down, "there is no pipe"));
  EXPECT_EQ(heard_.changes[0].remedy, "`mkfifo " + (folder_ / "fifo") + "` makes one");
  ASSERT_EQ(mkfifo((folder_ / "fifo").c_str(), 0600), 0);
  EXPECT_TRUE(serve_until(loop_, [&] { return heard_.is(Condition::up); }));
}

TEST_F(PipeSourceTest, AFileIsNoPipe) {
  append(folder_ / "x", "text");
  read(folder_ / "x");
  EXPECT_TRUE(heard_.tells(Condition::down, "is no pipe"));
  EXPECT_EQ(heard_.all(), "");
}

/// Standard input is another one during the test.
class StandardInputTest : public PipeSourceTest {
 protected:
  void SetUp() override { kept_ = dup(STDIN_FILENO); }
  void TearDown() override {
    if (kept_ < 0) return;
    dup2(kept_, STDIN_FILENO);
    close(kept_);
  }
  static void put_in_place(int descriptor) {
    dup2(descriptor, STDIN_FILENO);
    close(descriptor);
  }

 private:
  int kept_ = -1;
};

TEST_F(StandardInputTest, EndsWithItsWriterAndIsLeftAsItWas) {
  std::array<int, 2> ends{};
  ASSERT_EQ(pipe(ends.data()), 0);
  put_in_place(ends[0]);
  read("-");
  ASSERT_EQ(write(ends[1], "line\n", 5), 5);
  ASSERT_TRUE(heard("line\n"));
  EXPECT_TRUE(heard_.is(Condition::up));
  EXPECT_EQ(fcntl(STDIN_FILENO, F_GETFL) & O_NONBLOCK, 0);
  close(ends[1]);
  ASSERT_TRUE(serve_until(loop_, [&] { return heard_.is(Condition::ended); }));
  EXPECT_EQ(heard_.changes.back().what, "standard input has ended");
}

TEST_F(StandardInputTest, MayBeAFile) {
  const std::string text(300'000, 'x');
  append(folder_ / "x", text);
  put_in_place(open((folder_ / "x").c_str(), O_RDONLY));
  read("-");
  ASSERT_TRUE(serve_until(loop_, [&] { return heard_.is(Condition::ended); }));
  EXPECT_EQ(heard_.all(), text);
}

}  // namespace
}  // namespace fieldfare::source
