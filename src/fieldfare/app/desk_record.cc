// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/desk_record.h"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <optional>
#include <string_view>
#include <system_error>
#include <utility>
#include <vector>

namespace fieldfare::app {
namespace {

constexpr std::string_view kHead = "# Bytes as they came in. See docs/formats/byte-log.md.\n";
/// No arrival of a source makes a longer line.
constexpr std::size_t kLongestLine = std::size_t{1} << 20U;

std::string words_of(int code) { return std::generic_category().message(code); }

Complaint about(const std::string& path, std::size_t line, std::string what, std::string expected) {
  return {{path, line, 0}, std::move(what), std::move(expected)};
}

bool is_something(wire::ByteEvent event) {
  return event == wire::ByteEvent::stream || event == wire::ByteEvent::message ||
         event == wire::ByteEvent::waited || event == wire::ByteEvent::said;
}

/// Calls `take` with every whole line of the first `end` octets until it says false,
/// and tells how many octets those are; nothing where the file can't be read.
template <class Take>
std::optional<std::uint64_t> each_line(int descriptor, std::uint64_t end, const Take& take) {
  std::vector<char> block(std::size_t{1} << 18U);
  std::string line;
  std::uint64_t whole = 0;
  std::uint64_t at = 0;
  for (;;) {
    const auto wanted = static_cast<std::size_t>(std::min<std::uint64_t>(block.size(), end - at));
    const ssize_t got = ::pread(descriptor, block.data(), wanted, static_cast<off_t>(at));
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return std::nullopt;
    if (got == 0) return whole;
    std::string_view rest{block.data(), static_cast<std::size_t>(got)};
    at += rest.size();
    for (std::size_t feed = rest.find('\n'); feed != std::string_view::npos;
         feed = rest.find('\n')) {
      line.append(rest.substr(0, feed));
      rest.remove_prefix(feed + 1);
      whole = at - rest.size();
      if (!take(line)) return whole;
      line.clear();
    }
    line.append(rest);
    if (line.size() > kLongestLine) return whole;
  }
}

}  // namespace

Result<DeskRecord, Trouble> DeskRecord::open(const std::string& path) {
  const int descriptor = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0600);
  if (descriptor < 0) {
    return machine_trouble(
        about(path, 0, words_of(errno), "a file that can be written, with --keep FILE"));
  }
  DeskRecord record{path, descriptor};
  if (::flock(descriptor, LOCK_EX | LOCK_NB) != 0) {
    return machine_trouble(about(path, 0, "another program writes it", "another file"));
  }
  if (auto begun = record.begin(); !begun) return Failure{begun.error()};
  return record;
}

DeskRecord::~DeskRecord() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

DeskRecord::DeskRecord(DeskRecord&& other) noexcept
    : path_{std::move(other.path_)},
      descriptor_{std::exchange(other.descriptor_, -1)},
      written_{other.written_},
      waiting_{std::move(other.waiting_)},
      trouble_{std::move(other.trouble_)},
      holds_something_{other.holds_something_} {}

/// Finds the end of what an earlier run wrote, and cuts a torn last line off.
Result<Done, Trouble> DeskRecord::begin() {
  const off_t size = ::lseek(descriptor_, 0, SEEK_END);
  const auto whole =
      read_through(static_cast<std::uint64_t>(size), [this](const wire::LoggedBytes& logged) {
        holds_something_ = holds_something_ || is_something(logged.event);
      });
  if (!whole) return Failure{whole.error()};
  written_ = *whole;
  const auto torn = static_cast<std::uint64_t>(size) - written_;
  if (torn > kLongestLine || (written_ == 0 && torn > 0)) return not_a_record(1);
  if (torn > 0 && ::ftruncate(descriptor_, static_cast<off_t>(written_)) != 0) {
    return machine_trouble(about(path_, 0, words_of(errno), "a file that can be written"));
  }
  if (written_ == 0) waiting_ = kHead;
  return Done{};
}

Failure<Trouble> DeskRecord::not_a_record(std::size_t line) const {
  return input_trouble(about(path_, line, "is no line of a log of bytes",
                             "a file that an earlier listening kept, or a new name"));
}

Result<std::uint64_t, Trouble> DeskRecord::read_through(std::uint64_t end, const Take& take) const {
  std::size_t number = 0;
  bool readable = true;
  wire::LoggedBytes logged;
  const auto whole = each_line(descriptor_, end, [&](const std::string& line) {
    ++number;
    const wire::ByteLine kind = wire::read_byte_line(line, logged);
    if (kind == wire::ByteLine::event) take(logged);
    readable = kind != wire::ByteLine::unreadable;
    return readable;
  });
  if (!readable) return not_a_record(number);
  if (!whole) return machine_trouble(about(path_, 0, words_of(errno), "a file that can be read"));
  return *whole;
}

void DeskRecord::append(const wire::LoggedBytes& logged) {
  waiting_ += wire::byte_log_line(logged);
  holds_something_ = holds_something_ || is_something(logged.event);
}

bool DeskRecord::write() {
  std::string_view rest = waiting_;
  auto at = static_cast<off_t>(written_);
  while (!rest.empty()) {
    const ssize_t put = ::pwrite(descriptor_, rest.data(), rest.size(), at);
    if (put < 0 && errno == EINTR) continue;
    if (put < 0) {
      trouble_ = words_of(errno);
      return false;
    }
    rest.remove_prefix(static_cast<std::size_t>(put));
    at += put;
  }
  if (waiting_.empty()) return true;
  if (::fdatasync(descriptor_) != 0) {
    trouble_ = words_of(errno);
    return false;
  }
  written_ += waiting_.size();
  waiting_.clear();
  trouble_.clear();
  return true;
}

Result<Done, Trouble> DeskRecord::replay(const Take& take) const {
  const auto read = read_through(written_, take);
  if (!read) return Failure{read.error()};
  std::string_view rest = waiting_;
  wire::LoggedBytes logged;
  for (std::size_t end = rest.find('\n'); end != std::string_view::npos; end = rest.find('\n')) {
    if (wire::read_byte_line(rest.substr(0, end), logged) == wire::ByteLine::event) take(logged);
    rest.remove_prefix(end + 1);
  }
  return Done{};
}

bool DeskRecord::remove_if_empty() { return !holds_something_ && ::unlink(path_.c_str()) == 0; }

}  // namespace fieldfare::app
