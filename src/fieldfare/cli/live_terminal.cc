// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/cli/live_terminal.h"

#include <poll.h>
#include <sys/ioctl.h>
#include <termios.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <string_view>
#include <utility>

#include "fieldfare/work/keys.h"

namespace fieldfare::cli {
namespace {

// The alternate screen, no cursor, no breaking of long lines, bracketed paste; and
// all of it undone. xterm's control sequences, which terminals share (common practice).
constexpr std::string_view kEnter = "\x1b[?1049h\x1b[?25l\x1b[?7l\x1b[?2004h\x1b[2J";
constexpr std::string_view kLeave = "\x1b[?2004l\x1b[?7h\x1b[?25h\x1b[?1049l";
constexpr char kRedrawKey = 0x0C;  // Ctrl-L, as of old
/// An escape character that nothing follows for so long was a key; over slow lines
/// sequences are torn by less (common practice).
constexpr std::chrono::milliseconds kEscapePatience{80};

constexpr std::array<int, 5> kFaults = {SIGABRT, SIGSEGV, SIGBUS, SIGFPE, SIGILL};
constexpr std::array<int, 5> kEnds = {SIGHUP, SIGQUIT, SIGPIPE, SIGINT, SIGTERM};
constexpr std::array<int, 3> kNotices = {SIGTSTP, SIGCONT, SIGWINCH};

/// What handlers of signals need: they find no object.
struct Held {
  int in = -1;
  int out = -1;
  termios before{};
  std::array<struct sigaction, 64> actions{};  ///< by signal, what was set before
};
Held held;
std::atomic<bool> is_held{false};
std::atomic<bool> wants_stop{false};
std::atomic<bool> came_back{false};
std::atomic<bool> changed_size{false};
static_assert(std::atomic<bool>::is_always_lock_free, "handlers of signals may not lock");

void write_all(int out, std::string_view text) {
  while (!text.empty()) {
    const ssize_t written = ::write(out, text.data(), text.size());
    if (written > 0) {
      text.remove_prefix(static_cast<std::size_t>(written));
    } else if (errno == EAGAIN) {
      pollfd room{out, POLLOUT, 0};
      if (::poll(&room, 1, 1000) <= 0) return;
    } else if (errno != EINTR) {
      return;
    }
  }
}

/// Only what POSIX allows in handlers of signals.
void give_back() {
  write_all(held.out, kLeave);
  ::tcsetattr(held.in, TCSANOW, &held.before);
}

void give_back_once() {
  if (is_held.exchange(false)) give_back();
}

void take_over() {
  termios raw = held.before;
  raw.c_iflag &= ~static_cast<tcflag_t>(ICRNL | IXON | ISTRIP | INLCR | IGNCR);
  raw.c_lflag &= ~static_cast<tcflag_t>(ICANON | ECHO | IEXTEN);
  raw.c_cc[VMIN] = 1;
  raw.c_cc[VTIME] = 0;
  ::tcsetattr(held.in, TCSANOW, &raw);
  write_all(held.out, kEnter);
}

extern "C" void on_deadly(int signal) {
  const int error = errno;
  give_back_once();
  ::sigaction(signal, &held.actions[static_cast<std::size_t>(signal)], nullptr);
  ::raise(signal);
  errno = error;
}

extern "C" void on_notice(int signal) {
  if (signal == SIGTSTP) wants_stop = true;
  if (signal == SIGCONT) came_back = true;
  if (signal == SIGWINCH) changed_size = true;
}

void set_handler(int signal, void (*handler)(int), bool only_if_unset) {
  struct sigaction& before = held.actions[static_cast<std::size_t>(signal)];
  ::sigaction(signal, nullptr, &before);
  if (only_if_unset && before.sa_handler != SIG_DFL) return;
  struct sigaction action {};
  action.sa_handler = handler;
  action.sa_flags = SA_RESTART;
  ::sigemptyset(&action.sa_mask);
  ::sigaction(signal, &action, nullptr);
}

void set_handlers() {
  for (const int signal : kFaults) set_handler(signal, on_deadly, false);
  // Whoever ignores or handles an end keeps to that.
  for (const int signal : kEnds) set_handler(signal, on_deadly, true);
  for (const int signal : kNotices) set_handler(signal, on_notice, false);
}

/// What was set before comes back, but for what somebody else has set meanwhile.
void unset_handlers() {
  const auto unset = [](int signal) {
    struct sigaction now {};
    ::sigaction(signal, nullptr, &now);
    if (now.sa_handler != on_deadly && now.sa_handler != on_notice) return;
    ::sigaction(signal, &held.actions[static_cast<std::size_t>(signal)], nullptr);
  };
  for (const int signal : kFaults) unset(signal);
  for (const int signal : kEnds) unset(signal);
  for (const int signal : kNotices) unset(signal);
}

/// Stops the process as Ctrl-Z does, with the terminal given back meanwhile.
void stop_until_continued() {
  give_back();
  struct sigaction ours {};
  ::sigaction(SIGTSTP, &held.actions[SIGTSTP], &ours);
  ::raise(SIGTSTP);
  ::sigaction(SIGTSTP, &ours, nullptr);
}

/// Whether something is there to be read, or the terminal is gone.
bool wait_for_input(std::chrono::milliseconds patience) {
  pollfd input{held.in, POLLIN, 0};
  return ::poll(&input, 1, static_cast<int>(patience.count())) > 0;
}

bool can_place_text() {
  const char* terminal = std::getenv("TERM");
  return terminal && *terminal != '\0' && std::strcmp(terminal, "dumb") != 0;
}

}  // namespace

struct LiveTerminal::Impl {
  work::KeyDecoder keys;
  std::vector<std::string> shown;  ///< lines on the screen; what follows them is blank
  bool shows_anything = false;     ///< false: the screen's state isn't known
  bool is_gone = false;

  bool read_available(std::vector<work::KeyPress>& presses);
  /// Stops, comes back, takes up a new size, as signals asked; true where one did.
  bool heed_signals();
};

std::optional<LiveTerminal> LiveTerminal::open(int in, int out) {
  if (is_held || ::isatty(in) != 1 || ::isatty(out) != 1 || !can_place_text()) return std::nullopt;
  if (::tcgetattr(in, &held.before) != 0) return std::nullopt;
  held.in = in;
  held.out = out;
  for (auto* asked : {&wants_stop, &came_back, &changed_size}) *asked = false;
  set_handlers();
  is_held = true;
  take_over();
  static const bool at_exit = std::atexit(give_back_once) == 0;
  static_cast<void>(at_exit);
  return LiveTerminal{std::make_unique<Impl>()};
}

LiveTerminal::LiveTerminal(std::unique_ptr<Impl> impl) : impl_{std::move(impl)} {}
LiveTerminal::LiveTerminal(LiveTerminal&& other) noexcept = default;

LiveTerminal& LiveTerminal::operator=(LiveTerminal&& other) noexcept {
  if (this == &other) return *this;
  close();
  impl_ = std::move(other.impl_);
  return *this;
}

LiveTerminal::~LiveTerminal() { close(); }

void LiveTerminal::close() {
  if (!impl_) return;
  impl_.reset();
  give_back_once();
  unset_handlers();
}

render::ScreenSize LiveTerminal::size() const {
  winsize window{};
  render::ScreenSize size;
  if (!impl_ || ::ioctl(held.out, TIOCGWINSZ, &window) != 0) return size;
  if (window.ws_col > 0) size.columns = window.ws_col;
  if (window.ws_row > 0) size.rows = window.ws_row;
  return size;
}

bool LiveTerminal::Impl::heed_signals() {
  bool heeded = false;
  if (wants_stop.exchange(false)) {
    stop_until_continued();
    came_back = true;  // also where nothing could stop it
  }
  if (came_back.exchange(false)) {
    take_over();
    heeded = true;
  }
  if (changed_size.exchange(false)) heeded = true;
  if (heeded) shows_anything = false;
  return heeded;
}

bool LiveTerminal::Impl::read_available(std::vector<work::KeyPress>& presses) {
  std::array<char, 4096> bytes{};
  const ssize_t count = ::read(held.in, bytes.data(), bytes.size());
  if (count < 0) {
    if (errno == EINTR || errno == EAGAIN) return false;
    is_gone = true;  // a terminal that hung up: EIO
  }
  if (count == 0) is_gone = true;  // and so does this, since poll() promised something
  if (is_gone) {
    presses.push_back({work::Key::end_of_input});
    return false;
  }
  const std::string_view read{bytes.data(), static_cast<std::size_t>(count)};
  if (read.find(kRedrawKey) != std::string_view::npos) shows_anything = false;
  const auto pressed = keys.feed(read);
  presses.insert(presses.end(), pressed.begin(), pressed.end());
  return true;
}

std::vector<work::KeyPress> LiveTerminal::read(std::chrono::milliseconds patience) {
  if (!impl_) return {};
  if (impl_->is_gone) return {{work::Key::end_of_input}};
  std::vector<work::KeyPress> presses;
  if (impl_->heed_signals()) return presses;
  if (wait_for_input(patience)) impl_->read_available(presses);
  // The rest of a torn sequence, or nothing: then it was the key itself.
  while (impl_->keys.waits_for_pause() && !impl_->is_gone) {
    if (!wait_for_input(kEscapePatience) || !impl_->read_available(presses)) {
      const auto pressed = impl_->keys.pause();
      presses.insert(presses.end(), pressed.begin(), pressed.end());
    }
  }
  impl_->heed_signals();
  return presses;
}

void LiveTerminal::paint(const std::vector<std::string>& lines) {
  if (!impl_ || impl_->is_gone) return;
  impl_->heed_signals();
  std::string bytes;
  if (!impl_->shows_anything) {
    bytes += "\x1b[2J";
    impl_->shown.clear();
  }
  const std::size_t most = std::max(lines.size(), impl_->shown.size());
  const std::string none;
  for (std::size_t i = 0; i < most; ++i) {
    const std::string& wanted = i < lines.size() ? lines[i] : none;
    const std::string& there = i < impl_->shown.size() ? impl_->shown[i] : none;
    if (wanted == there) continue;
    // Wiped before, not after: behind the last column the cursor still stands on it.
    bytes += "\x1b[" + std::to_string(i + 1) + ";1H\x1b[2K" + wanted;
  }
  write_all(held.out, bytes);
  impl_->shown = lines;
  impl_->shows_anything = true;
}

void LiveTerminal::bell() {
  if (impl_ && !impl_->is_gone) write_all(held.out, "\a");
}

}  // namespace fieldfare::cli
