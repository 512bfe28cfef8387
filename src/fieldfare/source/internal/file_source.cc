// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/file_source.h"

#include <fcntl.h>
#include <sys/inotify.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <filesystem>
#include <string>
#include <system_error>
#include <utility>
#include <vector>

#include "fieldfare/source/internal/file_place.h"
#include "fieldfare/source/internal/readable.h"
#include "fieldfare/source/internal/reader.h"
#include "fieldfare/wire/excerpt.h"

namespace fieldfare::source {
namespace {

// For what the system doesn't tell: network drives, links to other folders.
constexpr std::chrono::seconds kBetweenLooks{1};
constexpr std::size_t kChunk = 65'536;
constexpr int kReadsInARow = 16;

bool same_file(const struct stat& a, const struct stat& b) {
  return a.st_dev == b.st_dev && a.st_ino == b.st_ino;
}

class FileSource : public Reader {
 public:
  FileSource(const fleet::FileEndpoint& endpoint, Setting setting, Loop& loop, Sink& sink)
      : Reader{std::move(setting), loop, sink},
        path_{resolved(this->setting(), endpoint.path)},
        name_{wire::excerpt(path_)},
        from_end_{endpoint.from_end},
        changes_{loop},
        look_{loop.impl().io},
        chunk_(kChunk) {
    if (!this->setting().marks.empty()) mark_ = this->setting().marks.back();
  }
  ~FileSource() override { let_go(); }
  FileSource(const FileSource&) = delete;
  FileSource& operator=(const FileSource&) = delete;

 protected:
  void open() override { look_by_and_by(); }

  void close() override {
    look_.cancel();
    changes_.close();
    let_go();
  }

  void go_on() override {
    if (paused()) return;
    if (file_ < 0 && !take_up()) return;
    if (!read_rest()) return;
    struct stat now {};
    if (stat(path_.c_str(), &now) != 0) {
      // What was opened is read on meanwhile: a rotated log's writer may still be
      // at it.
      return tell_failure(errno == ENOENT ? "the file " + name_ + " is gone" : std::string{},
                          errno);
    }
    // An empty one in its place: its writer may not have come over yet.
    if (same_file(now, identity_) || now.st_size == 0) return up("reading " + name_, true);
    // What was written between the reading and the replacing.
    if (!read_rest() || !hand_over_remainder()) return;
    let_go();
    begin_anew("was replaced");
  }

 private:
  void let_go() {
    if (file_ >= 0) ::close(file_);
    file_ = -1;
  }

  /// Looks now, whenever the folder changes, and every second.
  void look_by_and_by() {
    watch_folder();
    go_on();
    if (stopped()) return;
    look_.expires_after(kBetweenLooks);
    look_.async_wait([this, self = shared_from_this()](const asio::error_code& error) {
      if (error || stopped()) return;
      const std::uint64_t end = place_.offset() + remainder_;
      if (remainder_ > 0 && end == std::exchange(last_end_, end)) (void)hand_over_remainder();
      if (!stopped()) look_by_and_by();
    });
  }

  void watch_folder() {
    if (changes_.is_open()) return;
    const int watch = inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
    if (watch < 0) return;
    const std::string folder = std::filesystem::path{path_}.parent_path().string();
    constexpr std::uint32_t kWhat = IN_CREATE | IN_MODIFY | IN_MOVED_TO | IN_MOVED_FROM |
                                    IN_DELETE | IN_DELETE_SELF | IN_ONLYDIR;
    if (inotify_add_watch(watch, folder.empty() ? "." : folder.c_str(), kWhat) < 0) {
      ::close(watch);
      return;
    }
    if (changes_.adopt(watch)) wait_for_change();
  }

  void wait_for_change() {
    changes_.wait(shared_from_this(), [this] {
      std::array<char, 4096> events{};
      bool folder_is_gone = false;
      ssize_t size = 0;
      while ((size = read(changes_.descriptor(), events.data(), events.size())) > 0) {
        folder_is_gone = folder_is_gone || tells_end_of_watch(events.data(), size);
      }
      if (folder_is_gone) {
        changes_.close();  // the next look watches the new one
      } else {
        wait_for_change();
      }
      go_on();
    });
  }

  static bool tells_end_of_watch(const char* events, ssize_t size) {
    for (ssize_t at = 0; at < size;) {
      inotify_event event{};
      std::memcpy(&event, events + at, sizeof event);
      if ((event.mask & IN_IGNORED) != 0) return true;
      at += static_cast<ssize_t>(sizeof event + event.len);
    }
    return false;
  }

  /// Opens the file and goes to where its reading begins.
  bool take_up() {
    const int file = ::open(path_.c_str(), O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (file < 0) {
      if (errno == ENOENT) first_ = false;  // what comes is all new
      tell_failure({}, errno);
      return false;
    }
    struct stat status {};
    if (fstat(file, &status) != 0 || !S_ISREG(status.st_mode)) {
      ::close(file);
      down(name_ + " is no file that could grow", S_ISFIFO(status.st_mode)
                                                      ? "write `pipe:` before the name of a pipe"
                                                      : "name a file that a program writes to");
      return false;
    }
    file_ = file;
    identity_ = status;
    std::string told = "reading " + name_;
    if (!go_to_beginning(status)) told = name_ + " is not what it was: read from its beginning";
    up(std::move(told), place_.offset() > 0);
    return true;
  }

  /// False if what was read before is no longer there.
  bool go_to_beginning(const struct stat& status) {
    const auto size = static_cast<std::uint64_t>(status.st_size);
    const bool first = std::exchange(first_, false);
    FilePlace place;
    const std::uint64_t mark = std::exchange(mark_, 0);
    if (mark != 0) {
      const std::uint64_t offset = FilePlace::offset_of(mark);
      const bool there = offset <= size && place.set(file_, offset) && place.mark() == mark;
      place_ = there ? place : FilePlace{};
      return there;
    }
    if (first && from_end_) (void)place.set(file_, size);
    place_ = place;
    return true;
  }

  void begin_anew(const std::string& why) {
    place_ = {};
    mark_ = 0;
    remainder_ = 0;
    begins_anew(name_ + ' ' + why + ": read from its new beginning");
    go_on_later();
  }

  /// Hands over all that came in, but for a line that has begun. False if
  /// something else is to be done first.
  bool read_rest() {
    if (is_written_anew()) {
      begin_anew("was written anew");
      return false;
    }
    for (int i = 0; i < kReadsInARow; ++i) {
      if (paused() || stopped()) return false;
      const ssize_t size =
          pread(file_, chunk_.data(), chunk_.size(), static_cast<off_t>(place_.offset()));
      if (size < 0) {
        tell_failure({}, errno);
        return false;
      }
      const std::span<const std::uint8_t> octets{chunk_.data(), static_cast<std::size_t>(size)};
      const auto line_end = std::find(octets.rbegin(), octets.rend(), '\n');
      auto whole = static_cast<std::size_t>(octets.rend() - line_end);
      if (whole == 0 && octets.size() == kChunk) whole = kChunk;  // not a file of lines
      remainder_ = octets.size() - whole;
      if (whole == 0) return true;
      give(octets.first(whole));
    }
    go_on_later();
    return false;
  }

  /// The line that has begun, if any: its writer leaves it at that. False if
  /// something else is to be done first.
  bool hand_over_remainder() {
    if (file_ < 0 || paused() || is_written_anew()) return !paused();
    const ssize_t size =
        pread(file_, chunk_.data(), chunk_.size(), static_cast<off_t>(place_.offset()));
    remainder_ = 0;
    if (size > 0) give({chunk_.data(), static_cast<std::size_t>(size)});
    return !paused() && !stopped();
  }

  void give(std::span<const std::uint8_t> octets) {
    place_.advance(octets);
    hand_over(octets, false, place_.mark());
  }

  /// Cut short, also if it has grown past our place since.
  bool is_written_anew() const {
    struct stat status {};
    if (fstat(file_, &status) != 0) return false;
    return static_cast<std::uint64_t>(status.st_size) < place_.offset() || !place_.is_in(file_);
  }

  void tell_failure(std::string what, int error) {
    if (!what.empty()) return down(std::move(what), "it is read again as soon as it is back");
    switch (error) {
      case ENOENT:
      case ENOTDIR:
        return down("there is no file " + name_ + " yet", "it is read as soon as it is there");
      case EACCES:
        return down("no rights to read the file " + name_,
                    "have its owner give this user the right to read it, and its folders");
      default:
        return down("can't read " + name_ + ": " + std::generic_category().message(error), {});
    }
  }

  std::string path_;
  std::string name_;
  bool from_end_;
  Readable changes_;
  asio::steady_timer look_;
  std::vector<std::uint8_t> chunk_;
  int file_ = -1;
  struct stat identity_ {};
  FilePlace place_;
  std::uint64_t mark_ = 0;
  std::size_t remainder_ = 0;
  std::uint64_t last_end_ = 0;  ///< of the remainder at the last look
  bool first_ = true;
};

}  // namespace

std::unique_ptr<Source> make_file_source(const fleet::FileEndpoint& endpoint, Setting setting,
                                         Loop& loop, Sink& sink) {
  return held(std::make_shared<FileSource>(endpoint, std::move(setting), loop, sink));
}

}  // namespace fieldfare::source
