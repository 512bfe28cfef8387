// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/log_reader.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <system_error>

#include "fieldfare/wire/gunzip.h"
#include "fieldfare/wire/log_parser.h"

namespace fieldfare::app {
namespace {

constexpr std::size_t kReadSize = std::size_t{1} << 20;

/// An open file, closed at the end of its life unless it is standard input.
class Descriptor {
 public:
  explicit Descriptor(const std::string& path)
      : number_{path == "-" ? STDIN_FILENO : ::open(path.c_str(), O_RDONLY | O_CLOEXEC)} {}
  ~Descriptor() {
    if (number_ > STDIN_FILENO) ::close(number_);
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;

  int number() const { return number_; }

 private:
  int number_;
};

Complaint about_system(const std::string& path, int code, std::string expected) {
  return {{path == "-" ? "standard input" : path, 0, 0},
          std::generic_category().message(code),
          std::move(expected)};
}

/// Notes how far the file goes, on its first reading. Standard input counts as a
/// pipe even where it is a file: somebody else may be reading along.
void find_end(LogFile& file, int descriptor) {
  if (file.end || file.path == "-") return;
  struct stat status {};
  if (::fstat(descriptor, &status) != 0 || !S_ISREG(status.st_mode)) return;
  file.regular = true;
  file.end = static_cast<std::uint64_t>(status.st_size);
}

/// Reads up to the file's end; the number of an error, 0 where there was none.
int read_bytes(const LogFile& file, int descriptor, const wire::ByteSink& sink) {
  std::vector<char> buffer(kReadSize);
  std::uint64_t done = 0;
  while (!file.end || done < *file.end) {
    const std::uint64_t room = file.end ? *file.end - done : kReadSize;
    const auto got =
        ::read(descriptor, buffer.data(), std::min<std::uint64_t>(room, buffer.size()));
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) return errno;
    if (got == 0) return 0;
    done += static_cast<std::uint64_t>(got);
    sink({buffer.data(), static_cast<std::size_t>(got)});
  }
  return 0;
}

/// Holds the text back until its head is whole, where somebody wants that.
class HeadCollector {
 public:
  explicit HeadCollector(const HeadSink& sink) : sink_{sink}, done_{!sink} {}

  template <class Next>
  void pass(std::string_view text, const Next& next) {
    if (done_) return next(text);
    held_ += text;
    if (held_.size() >= kHeadBytes) finish(next);
  }

  template <class Next>
  void finish(const Next& next) {
    if (done_) return;
    done_ = true;
    sink_(std::string_view{held_}.substr(0, kHeadBytes));
    next(std::string_view{held_});
    held_.clear();
  }

 private:
  const HeadSink& sink_;
  bool done_;
  std::string held_;
};

}  // namespace

Result<LogReading, Trouble> read_log(LogFile& file, fleet::Labels& labels, wire::Ledger& ledger,
                                     const wire::HearingSink& sink, const HeadSink& head) {
  const Descriptor descriptor{file.path};
  if (descriptor.number() < 0) {
    return input_trouble(about_system(file.path, errno, "expected a log that can be read"));
  }
  find_end(file, descriptor.number());

  const std::string name = file.path == "-" ? "standard input" : file.path;
  wire::LogParser parser{{name, {}}, labels, ledger};
  wire::Gunzip gunzip{name};
  LogReading reading;
  HeadCollector collector{head};
  const auto parse = [&](std::string_view bytes) {
    reading.text_bytes += bytes.size();
    collector.pass(bytes, [&](std::string_view text) { parser.feed(text, sink); });
  };
  const int fault = read_bytes(file, descriptor.number(),
                               [&](std::string_view bytes) { gunzip.feed(bytes, parse); });
  if (fault != 0) {
    return input_trouble(about_system(file.path, fault, "expected a log that can be read"));
  }
  gunzip.finish(parse);
  collector.finish([&](std::string_view text) { parser.feed(text, sink); });
  const std::uint64_t skipped_before = ledger.rows_skipped();
  parser.finish(sink);
  if (parser.fatal()) return input_trouble(*parser.fatal());
  reading.unfinished_rows = ledger.rows_skipped() - skipped_before;
  reading.notes = parser.notes();
  reading.torn = gunzip.complaint();
  return reading;
}

}  // namespace fieldfare::app
