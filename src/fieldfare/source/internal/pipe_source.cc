// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/pipe_source.h"

#include <fcntl.h>
#include <poll.h>
#include <sys/epoll.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <string>
#include <system_error>
#include <utility>

#include "fieldfare/source/internal/readable.h"
#include "fieldfare/source/internal/reader.h"
#include "fieldfare/wire/excerpt.h"

namespace fieldfare::source {
namespace {

constexpr int kReadsInARow = 16;

bool is_pipe(int descriptor) {
  struct stat status {};
  return fstat(descriptor, &status) == 0 && S_ISFIFO(status.st_mode);
}

class PipeSource : public Reader {
 public:
  PipeSource(const fleet::PipeEndpoint& endpoint, Setting setting, Loop& loop, Sink& sink)
      : Reader{std::move(setting), loop, sink},
        standard_input_{endpoint.path == "-"},
        path_{resolved(this->setting(), endpoint.path)},
        name_{standard_input_ ? "standard input" : "the pipe " + wire::excerpt(path_)},
        pipe_{loop} {}

 protected:
  void open() override {
    const int descriptor = standard_input_ ? watch_standard_input() : open_pipe();
    if (descriptor < 0) return fail(errno);
    if (!standard_input_ && !is_pipe(descriptor)) {
      ::close(descriptor);
      return fail(EINVAL);
    }
    if (!pipe_.adopt(descriptor)) return fail(errno);
    up("reading " + name_);
    go_on();
  }

  void close() override { pipe_.close(); }

  void go_on() override {
    std::array<std::uint8_t, 65'536> octets;
    for (int i = 0; i < kReadsInARow; ++i) {
      if (paused() || !pipe_.is_open()) return;
      if (!is_ready()) return pipe_.wait(shared_from_this(), [this] { go_on(); });
      const ssize_t size = read(descriptor(), octets.data(), octets.size());
      if (size > 0) {
        hand_over({octets.data(), static_cast<std::size_t>(size)}, false, 0);
      } else if (size == 0) {
        return writer_left();
      } else if (errno != EINTR && errno != EAGAIN) {
        const int error = errno;
        pipe_.close();
        return fail(error);
      }
    }
    go_on_later();
  }

 private:
  int open_pipe() const { return ::open(path_.c_str(), O_RDONLY | O_NONBLOCK | O_CLOEXEC); }

  /// Standard input is shared with those who started us, and may not be made
  /// non-blocking under their hands, as the loop does with what it waits for. So
  /// the loop waits for one that waits for it.
  static int watch_standard_input() {
    const int watch = epoll_create1(EPOLL_CLOEXEC);
    if (watch < 0) return -1;
    epoll_event event{};
    event.events = EPOLLIN;
    // A file can't be waited for and needn't: it is always ready.
    if (epoll_ctl(watch, EPOLL_CTL_ADD, STDIN_FILENO, &event) == 0 || errno == EPERM) return watch;
    const int error = errno;
    ::close(watch);
    errno = error;
    return -1;
  }

  int descriptor() { return standard_input_ ? STDIN_FILENO : pipe_.descriptor(); }

  /// Asked before each read, as that may block.
  bool is_ready() {
    pollfd asked{descriptor(), POLLIN, 0};
    return poll(&asked, 1, 0) > 0;
  }

  void writer_left() {
    if (standard_input_) {
      pipe_.close();
      return ended("standard input has ended");
    }
    // Opened anew before the old one is closed: what the next writer put in
    // meanwhile would be thrown away with the last reader.
    const int next = open_pipe();
    if (next < 0 || !is_pipe(next)) {
      const int error = next < 0 ? errno : EINVAL;
      if (next >= 0) ::close(next);
      pipe_.close();
      return fail(error);
    }
    if (!pipe_.adopt(next)) return fail(errno);
    go_on_later();
  }

  void fail(int error) {
    switch (error) {
      case ENOENT:
      case ENOTDIR:
        down("there is no pipe " + wire::excerpt(path_),
             "`mkfifo " + wire::excerpt(path_) + "` makes one");
        break;
      case EACCES:
        down("no rights to read " + name_, "have its owner give this user the right to read it");
        break;
      case EINVAL:
      case ENXIO:
        down(wire::excerpt(path_) + " is no pipe", "write `file:` before the name of a file");
        break;
      default:
        down("can't read " + name_ + ": " + std::generic_category().message(error), {});
    }
    try_again();
  }

  bool standard_input_;
  std::string path_;
  std::string name_;
  Readable pipe_;
};

}  // namespace

std::unique_ptr<Source> make_pipe_source(const fleet::PipeEndpoint& endpoint, Setting setting,
                                         Loop& loop, Sink& sink) {
  return held(std::make_shared<PipeSource>(endpoint, std::move(setting), loop, sink));
}

}  // namespace fieldfare::source
