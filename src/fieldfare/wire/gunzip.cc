// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/gunzip.h"

#include <fmt/format.h>
#include <zlib.h>

#include <algorithm>
#include <cassert>
#include <cstdint>
#include <limits>
#include <utility>

namespace fieldfare::wire {
namespace {

constexpr std::string_view kMagic = "\x1F\x8B";  // RFC 1952 section 2.3.1
constexpr int kGzipWindow = 15 + 16;             // largest window, gzip header and trailer

}  // namespace

class Gunzip::Impl {
 public:
  explicit Impl(std::string file_name)
      : file_name_{std::move(file_name)}, piece_(kLargestPiece, '\0') {}
  ~Impl() {
    if (stream_open_) inflateEnd(&stream_);
  }
  Impl(const Impl&) = delete;
  Impl& operator=(const Impl&) = delete;

  void feed(std::string_view bytes, const ByteSink& sink) {
    while (!bytes.empty() && !complaint_) bytes.remove_prefix(step(bytes, sink));
  }

  void finish(const ByteSink& sink) {
    if (complaint_) return;
    if (state_ == State::beginning && magic_seen_ > 0) sink(kMagic.substr(0, magic_seen_));
    const bool cut = state_ == State::within || (state_ == State::between && magic_seen_ > 0);
    if (cut) complain("the compressed data end in the middle", "the whole file");
  }

  const std::optional<Complaint>& complaint() const { return complaint_; }

 private:
  enum class State : std::uint8_t {
    beginning,  ///< not yet known whether this is gzip
    plain,
    within,  ///< a member
    between  ///< after a member
  };

  /// Takes some bytes off the front; returns how many.
  std::size_t step(std::string_view bytes, const ByteSink& sink) {
    switch (state_) {
      case State::beginning:
        return look_for_magic(bytes, sink);
      case State::plain:
        return pass_on(bytes, sink);
      case State::within:
        return unpack(bytes, sink);
      case State::between:
        return look_for_member(bytes);
    }
    return bytes.size();
  }

  std::size_t look_for_magic(std::string_view bytes, const ByteSink& sink) {
    if (bytes[0] != kMagic[magic_seen_]) {
      sink(kMagic.substr(0, magic_seen_));
      state_ = State::plain;
      return 0;
    }
    if (++magic_seen_ == kMagic.size()) open_member();
    return 1;
  }

  std::size_t look_for_member(std::string_view bytes) {
    if (magic_seen_ == 0 && bytes[0] == '\0') return 1;
    if (bytes[0] != kMagic[magic_seen_]) {
      complain("something that is not compressed data follows the compressed data",
               "nothing, or more of it; what came before was read");
    } else if (++magic_seen_ == kMagic.size()) {
      open_member();
    }
    return 1;
  }

  static std::size_t pass_on(std::string_view bytes, const ByteSink& sink) {
    const std::string_view piece = bytes.substr(0, kLargestPiece);
    sink(piece);
    return piece.size();
  }

  /// Starts a member; its magic bytes have been taken and are fed from here.
  void open_member() {
    magic_seen_ = 0;
    state_ = State::within;
    const int status = stream_open_ ? inflateReset(&stream_) : inflateInit2(&stream_, kGzipWindow);
    if (status != Z_OK) {
      complain("there is no memory to unpack the compressed data", "");
      return;
    }
    stream_open_ = true;
    unpack(kMagic, [](std::string_view) {});
  }

  std::size_t unpack(std::string_view bytes, const ByteSink& sink) {
    const auto most = std::size_t{std::numeric_limits<uInt>::max()};
    const uInt offered = static_cast<uInt>(std::min(bytes.size(), most));
    // zlib does not write to its input; its interface predates const.
    stream_.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(bytes.data()));
    stream_.avail_in = offered;
    do {
      stream_.next_out = reinterpret_cast<Bytef*>(piece_.data());
      stream_.avail_out = static_cast<uInt>(piece_.size());
      const int status = inflate(&stream_, Z_NO_FLUSH);
      const std::size_t got = piece_.size() - stream_.avail_out;
      if (got > 0) sink(std::string_view{piece_}.substr(0, got));
      unpacked_ += got;
      if (status == Z_STREAM_END) {
        state_ = State::between;
        break;
      }
      if (status != Z_OK && status != Z_BUF_ERROR) {
        complain_of_damage();
        break;
      }
    } while (stream_.avail_out == 0);
    return offered - stream_.avail_in;
  }

  void complain_of_damage() {
    const char* const why = stream_.msg != nullptr ? stream_.msg : "unknown";
    complain(fmt::format("the compressed data are damaged ({})", why), "an undamaged file");
  }

  void complain(std::string_view what, std::string_view expected) {
    Complaint& complaint = complaint_.emplace();
    complaint.place.file = file_name_;
    complaint.what = fmt::format("{}, after {} bytes of text", what, unpacked_);
    complaint.expected = expected;
  }

  std::string file_name_;
  std::string piece_;
  State state_ = State::beginning;
  std::size_t magic_seen_ = 0;
  z_stream stream_{};
  bool stream_open_ = false;
  std::uint64_t unpacked_ = 0;
  std::optional<Complaint> complaint_;
};

Gunzip::Gunzip(std::string file_name) : impl_{std::make_unique<Impl>(std::move(file_name))} {}
Gunzip::~Gunzip() = default;
Gunzip::Gunzip(Gunzip&&) noexcept = default;
Gunzip& Gunzip::operator=(Gunzip&&) noexcept = default;

void Gunzip::feed(std::string_view bytes, const ByteSink& sink) { impl_->feed(bytes, sink); }
void Gunzip::finish(const ByteSink& sink) { impl_->finish(sink); }
const std::optional<Complaint>& Gunzip::complaint() const { return impl_->complaint(); }

}  // namespace fieldfare::wire
