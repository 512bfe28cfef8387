// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/binary_decoder.h"
#include "fieldfare/wire/internal/binary_encoder.h"
#include "fieldfare/wire/internal/binary_layout.h"
#include "fieldfare/wire/internal/body_codecs.h"

namespace fieldfare::wire {
namespace {

class BinaryCodec : public BodyCodec {
 public:
  explicit BinaryCodec(const fleet::FrameFacts& frame) : layout_{frame}, decoder_{layout_} {}

  std::optional<BodyError> decode(std::span<const std::uint8_t> body, ReportSink& sink) override {
    return decoder_.decode(body, sink);
  }
  Result<fleet::Octets, BodyError> encode(const ReportValues& values) override {
    return BinaryEncoder{layout_, values}.encode();
  }

 private:
  BinaryLayout layout_;
  BinaryDecoder decoder_;
};

}  // namespace

std::unique_ptr<BodyCodec> make_binary_codec(const fleet::FrameFacts& frame) {
  return std::make_unique<BinaryCodec>(frame);
}

}  // namespace fieldfare::wire
