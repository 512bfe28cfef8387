// SPDX-License-Identifier: Apache-2.0
// The terminal is a pseudo-terminal, and its other end is watched.
#include "fieldfare/cli/live_terminal.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <poll.h>
#include <pty.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

#include <csignal>
#include <cstdlib>
#include <string>
#include <thread>

namespace fieldfare::cli {
namespace {

using std::chrono::milliseconds;
using ::testing::HasSubstr;
using ::testing::Not;
using work::Key;

constexpr milliseconds kSoon{2'000};

class Terminal : public ::testing::Test {
 public:
  Terminal() {
    winsize window{};
    window.ws_col = 80;
    window.ws_row = 24;
    EXPECT_EQ(::openpty(&master_, &slave_, nullptr, nullptr, &window), 0);
    ::setenv("TERM", "xterm", 1);
  }
  ~Terminal() override {
    if (master_ >= 0) ::close(master_);
    ::close(slave_);
  }
  Terminal(const Terminal&) = delete;
  Terminal& operator=(const Terminal&) = delete;

 protected:
  int slave() const { return slave_; }

  std::optional<LiveTerminal> open() const { return LiveTerminal::open(slave_, slave_); }

  void type(std::string_view bytes) const {
    EXPECT_EQ(::write(master_, bytes.data(), bytes.size()), static_cast<ssize_t>(bytes.size()));
  }

  /// What came out of the terminal so far; waits until there is something, and a
  /// moment for the rest of it.
  std::string shown(int patience_ms = 2'000) const {
    std::string text;
    pollfd there{master_, POLLIN, 0};
    while (::poll(&there, 1, text.empty() ? patience_ms : 50) > 0) {
      char bytes[4096];
      const ssize_t count = ::read(master_, bytes, sizeof bytes);
      if (count <= 0) break;
      text.append(bytes, static_cast<std::size_t>(count));
    }
    return text;
  }

  bool is_raw() const {
    termios now{};
    EXPECT_EQ(::tcgetattr(slave_, &now), 0);
    return (now.c_lflag & (ICANON | ECHO)) == 0;
  }

  void hang_up() {
    ::close(master_);
    master_ = -1;
  }

 private:
  int slave_ = -1;
  int master_ = -1;
};

/// Runs `body` in a process of its own; its wait status.
template <class Body>
int status_of_process(Body body) {
  const pid_t child = ::fork();
  if (child == 0) {
    body();
    std::_Exit(0);
  }
  int status = 0;
  ::waitpid(child, &status, 0);
  return status;
}

TEST_F(Terminal, IsTakenOverAndGivenBack) {
  {
    auto terminal = open();
    ASSERT_TRUE(terminal);
    EXPECT_TRUE(is_raw());
    EXPECT_THAT(shown(), HasSubstr("\x1b[?1049h"));
  }
  EXPECT_FALSE(is_raw());
  const std::string last = shown();
  EXPECT_THAT(last, HasSubstr("\x1b[?1049l"));
  EXPECT_THAT(last, HasSubstr("\x1b[?25h")) << "the cursor is back";
  EXPECT_THAT(last, HasSubstr("\x1b[?7h")) << "long lines break again";
}

TEST_F(Terminal, IsNotTakenWhereItCannotPlaceText) {
  ::setenv("TERM", "dumb", 1);
  EXPECT_FALSE(open());
  ::unsetenv("TERM");
  EXPECT_FALSE(open());
  ::setenv("TERM", "xterm", 1);
  int ends[2];
  ASSERT_EQ(::pipe(ends), 0);
  EXPECT_FALSE(LiveTerminal::open(ends[0], slave()));
  EXPECT_FALSE(LiveTerminal::open(slave(), ends[1]));
  ::close(ends[0]);
  ::close(ends[1]);
  EXPECT_FALSE(is_raw());
}

TEST_F(Terminal, GivesKeysOneByOneAndWaitsNoLongerThanItMay) {
  auto terminal = open();
  ASSERT_TRUE(terminal);
  EXPECT_TRUE(terminal->read(milliseconds{0}).empty());
  type("5\x1b[A");
  auto keys = terminal->read(kSoon);
  ASSERT_EQ(keys.size(), 2U);
  EXPECT_EQ(keys[0].character, U'5');
  EXPECT_EQ(keys[1].key, Key::up);
  type("\r");
  keys = terminal->read(kSoon);
  ASSERT_EQ(keys.size(), 1U);
  EXPECT_EQ(keys[0].key, Key::enter);
}

TEST_F(Terminal, TellsAnEscapeFromATornArrow) {
  auto terminal = open();
  ASSERT_TRUE(terminal);
  type("\x1b");
  auto keys = terminal->read(kSoon);
  ASSERT_EQ(keys.size(), 1U);
  EXPECT_EQ(keys[0].key, Key::escape);
  type("\x1b");
  std::thread slow{[this] {
    std::this_thread::sleep_for(milliseconds{20});
    type("[B");
  }};
  keys = terminal->read(kSoon);
  slow.join();
  ASSERT_EQ(keys.size(), 1U);
  EXPECT_EQ(keys[0].key, Key::down);
}

TEST_F(Terminal, PaintsOnlyLinesThatChanged) {
  auto terminal = open();
  ASSERT_TRUE(terminal);
  shown();
  terminal->paint({"first", "second", "third"});
  EXPECT_THAT(shown(), HasSubstr("second"));
  terminal->paint({"first", "other", "third"});
  const std::string change = shown();
  EXPECT_THAT(change, HasSubstr("\x1b[2;1H\x1b[2Kother"));
  EXPECT_THAT(change, Not(HasSubstr("first")));
  terminal->paint({"first", "other", "third"});
  EXPECT_EQ(shown(50), "");
  terminal->paint({"first"});
  EXPECT_EQ(shown(), "\x1b[2;1H\x1b[2K\x1b[3;1H\x1b[2K") << "lines that are gone are wiped";
}

TEST_F(Terminal, PaintsAllAnewAfterAChangeOfSizeAndOnControlL) {
  auto terminal = open();
  ASSERT_TRUE(terminal);
  terminal->paint({"first"});
  shown();
  winsize window{};
  window.ws_col = 40;
  window.ws_row = 10;
  ASSERT_EQ(::ioctl(slave(), TIOCSWINSZ, &window), 0);
  ::raise(SIGWINCH);  // the test doesn't hang on this terminal: the system wouldn't send it
  EXPECT_TRUE(terminal->read(kSoon).empty()) << "comes back at once";
  EXPECT_EQ(terminal->size().columns, 40U);
  EXPECT_EQ(terminal->size().rows, 10U);
  terminal->paint({"first"});
  EXPECT_THAT(shown(), HasSubstr("first"));
  type("\x0c");
  terminal->read(kSoon);
  terminal->paint({"first"});
  EXPECT_THAT(shown(), HasSubstr("first"));
}

TEST_F(Terminal, Rings) {
  auto terminal = open();
  ASSERT_TRUE(terminal);
  shown();
  terminal->bell();
  EXPECT_EQ(shown(), "\a");
}

TEST_F(Terminal, ThatHangsUpEndsTheInput) {
  auto terminal = open();
  ASSERT_TRUE(terminal);
  hang_up();
  for (int i = 0; i < 2; ++i) {
    const auto keys = terminal->read(kSoon);
    ASSERT_EQ(keys.size(), 1U);
    EXPECT_EQ(keys[0].key, Key::end_of_input);
  }
}

TEST_F(Terminal, IsGivenBackByCloseAndThenLeftAlone) {
  auto terminal = open();
  ASSERT_TRUE(terminal);
  terminal->close();
  EXPECT_FALSE(is_raw());
  shown();
  terminal->paint({"late"});
  terminal->bell();
  EXPECT_TRUE(terminal->read(milliseconds{0}).empty());
  EXPECT_EQ(shown(50), "");
  EXPECT_TRUE(open()) << "it can be taken once more";
}

TEST_F(Terminal, IsGivenBackWhenTheProcessExits) {
  const int status = status_of_process([this] {
    auto terminal = open();
    std::exit(terminal ? 7 : 8);
  });
  EXPECT_EQ(WEXITSTATUS(status), 7);
  EXPECT_FALSE(is_raw());
  EXPECT_THAT(shown(), HasSubstr("\x1b[?1049l"));
}

TEST_F(Terminal, IsGivenBackWhenASignalKills) {
  for (const int signal : {SIGINT, SIGTERM, SIGHUP, SIGABRT}) {
    const int status = status_of_process([this, signal] {
      auto terminal = open();
      if (terminal) ::raise(signal);
    });
    EXPECT_TRUE(WIFSIGNALED(status)) << signal;
    EXPECT_EQ(WTERMSIG(status), signal);
    EXPECT_FALSE(is_raw()) << signal;
    EXPECT_THAT(shown(), HasSubstr("\x1b[?1049l")) << signal;
  }
}

TEST_F(Terminal, LeavesASignalToWhoeverHandlesIt) {
  const auto before = ::signal(SIGTERM, SIG_IGN);
  {
    auto terminal = open();
    ASSERT_TRUE(terminal);
    ::raise(SIGTERM);
    EXPECT_TRUE(is_raw());
  }
  EXPECT_EQ(::signal(SIGTERM, before), SIG_IGN);
}

TEST_F(Terminal, IsGivenBackWhileItIsStoppedAndTakenAgainAfterwards) {
  // A group of its own within the session of the test: an orphaned one can't be stopped
  // from the keyboard.
  const pid_t child = ::fork();
  if (child == 0) {
    ::signal(SIGTSTP, SIG_DFL);
    ::setpgid(0, 0);
    auto terminal = open();
    if (!terminal) std::_Exit(1);
    ::raise(SIGTSTP);
    terminal->paint({"back"});
    std::_Exit(is_raw() ? 0 : 2);
  }
  int status = 0;
  ASSERT_EQ(::waitpid(child, &status, WUNTRACED), child);
  ASSERT_TRUE(WIFSTOPPED(status));
  EXPECT_FALSE(is_raw());
  EXPECT_THAT(shown(), HasSubstr("\x1b[?1049l"));
  ::kill(child, SIGCONT);
  ASSERT_EQ(::waitpid(child, &status, 0), child);
  EXPECT_TRUE(WIFEXITED(status));
  EXPECT_EQ(WEXITSTATUS(status), 0);
  EXPECT_THAT(shown(), HasSubstr("back"));
}

}  // namespace
}  // namespace fieldfare::cli
