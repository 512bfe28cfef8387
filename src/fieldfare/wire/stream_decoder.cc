// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/stream_decoder.h"

#include <cassert>

#include "fieldfare/wire/internal/stream_reader.h"

namespace fieldfare::wire {

class StreamDecoder::Impl {
 public:
  Impl(const DecoderOptions& options, fleet::Labels& labels)
      : reader{options.receiver_frame == nullptr && options.known.empty()
                   ? make_row_reader(options, labels, ledger)
                   : make_frame_reader(options, labels, ledger)} {}

  StreamLedger ledger;
  std::unique_ptr<StreamReader> reader;
};

StreamDecoder::StreamDecoder(const DecoderOptions& options, fleet::Labels& labels)
    : impl_{std::make_unique<Impl>(options, labels)} {}
StreamDecoder::~StreamDecoder() = default;
StreamDecoder::StreamDecoder(StreamDecoder&&) noexcept = default;
StreamDecoder& StreamDecoder::operator=(StreamDecoder&&) noexcept = default;

void StreamDecoder::feed(std::span<const std::uint8_t> octets, Instant arrived,
                         HearingStream& out) {
  impl_->reader->feed(octets, arrived, out);
  assert(impl_->ledger.balances());
}

void StreamDecoder::message(std::span<const std::uint8_t> octets, const Delivery& delivery,
                            HearingStream& out) {
  impl_->reader->message(octets, delivery, out);
  assert(impl_->ledger.balances());
}

void StreamDecoder::resume(std::span<const std::uint8_t> first_line) {
  impl_->reader->resume(first_line);
}

void StreamDecoder::finish(Instant at, HearingStream& out) {
  impl_->reader->finish(at, out);
  assert(impl_->ledger.balances());
}

const StreamLedger& StreamDecoder::ledger() const { return impl_->ledger; }

}  // namespace fieldfare::wire
