// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>
#include <span>

#include "fieldfare/wire/stream_decoder.h"

namespace fieldfare::wire {

/// One way of reading what a source hands over; counts into the ledger it was
/// made with.
class StreamReader {
 public:
  virtual ~StreamReader() = default;
  virtual void feed(std::span<const std::uint8_t> octets, Instant arrived, HearingStream& out) = 0;
  virtual void message(std::span<const std::uint8_t> octets, const Delivery& delivery,
                       HearingStream& out) = 0;
  /// Frames need nothing of what stood before them.
  virtual void resume(std::span<const std::uint8_t> first_line) { (void)first_line; }
  virtual void finish(Instant at, HearingStream& out) = 0;
};

/// Rows of a log, CSV or JSON Lines.
std::unique_ptr<StreamReader> make_row_reader(const DecoderOptions& options, fleet::Labels& labels,
                                              StreamLedger& ledger);
/// Frames, as sheets describe them.
std::unique_ptr<StreamReader> make_frame_reader(const DecoderOptions& options,
                                                fleet::Labels& labels, StreamLedger& ledger);

}  // namespace fieldfare::wire
