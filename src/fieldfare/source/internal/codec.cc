// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/codec.h"

#include <fmt/format.h>
#include <lzma.h>
#include <zstd.h>

#include <algorithm>
#include <utility>

#include "fieldfare/wire/gunzip.h"

namespace fieldfare::source {
namespace {

using namespace std::string_view_literals;

constexpr std::string_view kGzipMark = "\x1F\x8B"sv;              // RFC 1952 section 2.3.1
constexpr std::string_view kXzMark = "\xFD\x37\x7A\x58\x5A\0"sv;  // .xz format, section 2.1.1.1
constexpr std::string_view kZstdMark = "\x28\xB5\x2F\xFD"sv;      // RFC 8878 section 3.1.1

constexpr const char* kWhole = "the whole file";
constexpr const char* kCut = "the compressed data end in the middle";
constexpr const char* kTail = "something that is not compressed data follows the compressed data";

class GzipCodec final : public Codec {
 public:
  Step step(std::string_view packed, std::span<char> room, bool last) override {
    Step done;
    if (at_ == unpacked_.size()) {
      unpacked_.clear();
      at_ = 0;
      const auto keep = [this](std::string_view text) { unpacked_ += text; };
      // A piece unpacks to a thousand times its size at most.
      const std::string_view piece = packed.substr(0, kPiece);
      gunzip_.feed(piece, keep);
      done.taken = piece.size();
      if (last && piece.size() == packed.size() && !std::exchange(finished_, true)) {
        gunzip_.finish(keep);
      }
    }
    done.given = std::min(room.size(), unpacked_.size() - at_);
    std::copy_n(unpacked_.data() + at_, done.given, room.data());
    at_ += done.given;
    if (at_ == unpacked_.size() && gunzip_.complaint()) complain(*gunzip_.complaint());
    return done;
  }

 private:
  static constexpr std::size_t kPiece = 4096;

  wire::Gunzip gunzip_{""};
  std::string unpacked_;
  std::size_t at_ = 0;
  bool finished_ = false;
};

class XzCodec final : public Codec {
 public:
  XzCodec() {
    constexpr std::uint64_t kMostMemory = std::uint64_t{256} << 20;
    if (lzma_stream_decoder(&stream_, kMostMemory, LZMA_CONCATENATED) != LZMA_OK) {
      complain("there is no memory to unpack the compressed data", {});
    }
  }
  ~XzCodec() override { lzma_end(&stream_); }
  XzCodec(const XzCodec&) = delete;
  XzCodec& operator=(const XzCodec&) = delete;

  Step step(std::string_view packed, std::span<char> room, bool last) override {
    if (ended_ || complaint()) return {};
    stream_.next_in = reinterpret_cast<const std::uint8_t*>(packed.data());
    stream_.avail_in = packed.size();
    stream_.next_out = reinterpret_cast<std::uint8_t*>(room.data());
    stream_.avail_out = room.size();
    const lzma_ret status = lzma_code(&stream_, last ? LZMA_FINISH : LZMA_RUN);
    const Step done{packed.size() - stream_.avail_in, room.size() - stream_.avail_out};
    count(done.given);
    ended_ = status == LZMA_STREAM_END;
    if (status != LZMA_OK && !ended_) tell(status);
    return done;
  }

 private:
  void tell(lzma_ret status) {
    switch (status) {
      case LZMA_BUF_ERROR:
        return complain(kCut, kWhole);
      case LZMA_MEMLIMIT_ERROR:
      case LZMA_MEM_ERROR:
        return complain("unpacking the compressed data takes too much memory",
                        "a file packed for 256 MiB at most");
      default:
        return complain("the compressed data are damaged", "an undamaged file");
    }
  }

  lzma_stream stream_ = LZMA_STREAM_INIT;
  bool ended_ = false;
};

class ZstdCodec final : public Codec {
 public:
  ZstdCodec() {
    constexpr int kWindowLogMost = 27;  // 128 MiB
    if (!stream_ || ZSTD_isError(ZSTD_DCtx_setParameter(stream_.get(), ZSTD_d_windowLogMax,
                                                        kWindowLogMost)) != 0) {
      complain("there is no memory to unpack the compressed data", {});
    }
  }

  Step step(std::string_view packed, std::span<char> room, bool last) override {
    if (complaint() || (packed.empty() && between_frames_)) return {};
    ZSTD_inBuffer in{packed.data(), packed.size(), 0};
    ZSTD_outBuffer out{room.data(), room.size(), 0};
    const std::size_t status = ZSTD_decompressStream(stream_.get(), &out, &in);
    count(out.pos);
    if (ZSTD_isError(status) != 0) {
      tell(status);
    } else {
      between_frames_ = status == 0;
      if (last && in.pos == 0 && out.pos == 0) complain(kCut, kWhole);
    }
    return {in.pos, out.pos};
  }

 private:
  struct Free {
    void operator()(ZSTD_DStream* stream) const { ZSTD_freeDStream(stream); }
  };

  void tell(std::size_t status) {
    const std::string_view why = ZSTD_getErrorName(status);
    complain(between_frames_ ? std::string{kTail}
                             : fmt::format("the compressed data are damaged ({})", why),
             "an undamaged file");
  }

  std::unique_ptr<ZSTD_DStream, Free> stream_{ZSTD_createDStream()};
  bool between_frames_ = false;
};

}  // namespace

void Codec::complain(std::string_view what, std::string expected) {
  complaint_ = Complaint{
      {}, fmt::format("{}, after {} bytes of text", what, unpacked_), std::move(expected)};
}

std::unique_ptr<Codec> codec_for(std::string_view front) {
  if (front.starts_with(kGzipMark)) return std::make_unique<GzipCodec>();
  if (front.starts_with(kXzMark)) return std::make_unique<XzCodec>();
  if (front.starts_with(kZstdMark)) return std::make_unique<ZstdCodec>();
  return nullptr;
}

}  // namespace fieldfare::source
