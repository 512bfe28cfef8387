// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/app/log_reader.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <span>
#include <system_error>
#include <utility>

#include "fieldfare/source/capture_file.h"
#include "fieldfare/source/unpack.h"
#include "fieldfare/wire/log_parser.h"

namespace fieldfare::app {
namespace {

/// Of hearings that name none, as docs/formats/log.md says.
constexpr const char* kReceiver = "r1";

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

/// Reads a file up to the end that was found.
class RawBytes {
 public:
  RawBytes(const LogFile& file, int descriptor) : file_{file}, descriptor_{descriptor} {}

  /// As source::BytesIn.
  std::size_t read(std::span<char> out) {
    const std::uint64_t room = file_.end ? *file_.end - done_ : out.size();
    if (fault_ != 0 || room == 0) return 0;
    ssize_t got = -1;
    do {
      got = ::read(descriptor_, out.data(), std::min<std::uint64_t>(room, out.size()));
    } while (got < 0 && errno == EINTR);
    if (got < 0) fault_ = errno;
    if (got <= 0) return 0;
    done_ += static_cast<std::uint64_t>(got);
    return static_cast<std::size_t>(got);
  }

  int fault() const { return fault_; }  ///< number of the system's error, 0 for none

 private:
  const LogFile& file_;
  int descriptor_;
  std::uint64_t done_ = 0;
  int fault_ = 0;
};

/// A log's bytes, unpacked, with its front looked at beforehand.
class LogBytes {
 public:
  LogBytes(const std::string& name, RawBytes& raw)
      : unpacker_{name, [&raw](std::span<char> out) { return raw.read(out); }} {}

  /// Reads so much of the front, or all where there is less.
  std::string_view look_ahead(std::size_t size) {
    front_.resize(size);
    std::size_t filled = 0;
    while (filled < size) {
      const std::size_t got = unpacker_.read(std::span{front_}.subspan(filled));
      if (got == 0) break;
      filled += got;
    }
    front_.resize(filled);
    return front_;
  }

  /// As source::BytesIn, from the beginning on.
  std::size_t read(std::span<char> out) {
    std::size_t got = std::min(out.size(), front_.size() - at_);
    if (got > 0) {
      std::copy_n(front_.data() + at_, got, out.data());
      at_ += got;
    } else {
      got = unpacker_.read(out);
    }
    read_ += got;
    return got;
  }

  std::uint64_t size_read() const { return read_; }
  const std::optional<Complaint>& torn() const { return unpacker_.complaint(); }

 private:
  source::Unpacker unpacker_;
  std::string front_;
  std::size_t at_ = 0;
  std::uint64_t read_ = 0;
};

/// Where hearings and all else go.
struct Taker {
  fleet::Labels& labels;
  wire::Ledger& ledger;
  const wire::HearingSink& sink;
};

std::optional<Trouble> read_text(const std::string& name, LogBytes& bytes, const Taker& taker,
                                 LogReading& reading) {
  wire::LogParser parser{{name, {}}, taker.labels, taker.ledger};
  std::vector<char> buffer(kReadSize);
  while (const std::size_t got = bytes.read(buffer)) {
    parser.feed({buffer.data(), got}, taker.sink);
  }
  const std::uint64_t skipped_before = taker.ledger.rows_skipped();
  parser.finish(taker.sink);
  if (parser.fatal()) return Trouble{Blame::input, {*parser.fatal()}};
  reading.unfinished_rows = taker.ledger.rows_skipped() - skipped_before;
  reading.notes = parser.notes();
  return std::nullopt;
}

std::optional<Trouble> read_packets(wire::CaptureOptions options, LogBytes& bytes,
                                    const Taker& taker, LogReading& reading) {
  const std::string name = options.file_name;
  wire::CaptureReader reader{std::move(options), taker.labels, taker.ledger};
  const auto in = [&bytes](std::span<char> out) { return bytes.read(out); };
  const auto captured = source::read_capture(name, in, [&](const wire::CapturedPacket& packet) {
    reader.feed(packet, taker.sink);
    return !reader.fatal();
  });
  if (!captured) return Trouble{Blame::input, {captured.error()}};
  reader.finish(taker.sink);
  if (reader.fatal()) return Trouble{Blame::input, {*reader.fatal()}};
  reading.notes = reader.notes();
  reading.torn = captured->torn;
  return std::nullopt;
}

}  // namespace

Result<LogReading, Trouble> read_log(LogFile& file, fleet::Labels& labels, wire::Ledger& ledger,
                                     const wire::HearingSink& sink, const HeadSink& head) {
  const Descriptor descriptor{file.path};
  if (descriptor.number() < 0) {
    return input_trouble(about_system(file.path, errno, "expected a log that can be read"));
  }
  find_end(file, descriptor.number());

  const std::string name = file.path == "-" ? "standard input" : file.path;
  RawBytes raw{file, descriptor.number()};
  LogBytes bytes{name, raw};
  const std::string_view front = bytes.look_ahead(head ? kHeadBytes : source::kCaptureMarkBytes);
  if (head) head(front);
  LogReading reading;
  const Taker taker{labels, ledger, sink};
  auto trouble = source::is_capture(front)
                     ? read_packets({name, kReceiver, file.sieve}, bytes, taker, reading)
                     : read_text(name, bytes, taker, reading);
  if (raw.fault() != 0) {
    return input_trouble(about_system(file.path, raw.fault(), "expected a log that can be read"));
  }
  if (trouble) return Failure{std::move(*trouble)};
  reading.text_bytes = bytes.size_read();
  if (bytes.torn()) reading.torn = bytes.torn();
  return reading;
}

}  // namespace fieldfare::app
