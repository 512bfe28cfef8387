// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/unpack.h"

#include <algorithm>
#include <cassert>
#include <string_view>
#include <utility>
#include <vector>

#include "fieldfare/source/internal/codec.h"

namespace fieldfare::source {

class Unpacker::Impl {
 public:
  Impl(std::string file_name, BytesIn packed)
      : file_name_{std::move(file_name)}, in_{std::move(packed)}, buffer_(kBufferBytes) {}

  std::size_t read(std::span<char> out) {
    assert(!out.empty());
    if (!begun_) begin();
    if (!codec_) return pass_on(out);
    while (!complaint_) {
      if (waiting_.empty()) refill();
      const Codec::Step done = codec_->step(waiting_, out, ended_);
      waiting_.remove_prefix(done.taken);
      if (codec_->complaint()) {
        complaint_ = codec_->complaint();
        complaint_->place.file = file_name_;
      }
      if (done.given > 0) return done.given;
      if (ended_ && done.taken == 0) break;
    }
    return 0;
  }

  const std::optional<Complaint>& complaint() const { return complaint_; }

 private:
  static constexpr std::size_t kBufferBytes = std::size_t{64} * 1024;

  void begin() {
    begun_ = true;
    std::size_t size = 0;
    while (size < kMarkBytes && !ended_) {
      const std::size_t got = in_(std::span{buffer_}.subspan(size));
      ended_ = got == 0;
      size += got;
    }
    waiting_ = {buffer_.data(), size};
    codec_ = codec_for(waiting_);
  }

  void refill() {
    if (ended_) return;
    const std::size_t got = in_(buffer_);
    ended_ = got == 0;
    waiting_ = {buffer_.data(), got};
  }

  std::size_t pass_on(std::span<char> out) {
    if (waiting_.empty()) return ended_ ? 0 : in_(out);
    const std::size_t given = std::min(out.size(), waiting_.size());
    std::copy_n(waiting_.data(), given, out.data());
    waiting_.remove_prefix(given);
    return given;
  }

  std::string file_name_;
  BytesIn in_;
  std::vector<char> buffer_;
  std::string_view waiting_;  ///< in the buffer
  bool begun_ = false;
  bool ended_ = false;            ///< nothing comes behind what waits
  std::unique_ptr<Codec> codec_;  ///< null where the bytes are not packed
  std::optional<Complaint> complaint_;
};

Unpacker::Unpacker(std::string file_name, BytesIn packed)
    : impl_{std::make_unique<Impl>(std::move(file_name), std::move(packed))} {}
Unpacker::~Unpacker() = default;
Unpacker::Unpacker(Unpacker&&) noexcept = default;
Unpacker& Unpacker::operator=(Unpacker&&) noexcept = default;

std::size_t Unpacker::read(std::span<char> out) { return impl_->read(out); }
const std::optional<Complaint>& Unpacker::complaint() const { return impl_->complaint(); }

}  // namespace fieldfare::source
