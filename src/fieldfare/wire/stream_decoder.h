// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/fleet/hearing.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/wire/stream_ledger.h"

namespace fieldfare::wire {

/// A kind of node whose frames may come in.
struct KnownFrame {
  std::string sheet;
  const fleet::FrameFacts* frame = nullptr;
  std::uint32_t tag = 0;  ///< the caller's, handed on with each hearing
};

struct DecoderOptions {
  std::string source;                                 ///< name for places of complaints
  std::string receiver = "r1";                        ///< of hearings whose frame names none
  const fleet::FrameFacts* receiver_frame = nullptr;  ///< what the receiver wraps them in
  std::vector<KnownFrame> known;  ///< empty, and no receiver frame: rows of a log
  /// The tag of the kind that the roster says a node is of, to settle frames that
  /// two kinds could have sent. May be empty.
  std::function<std::optional<std::uint32_t>(fleet::NodeIndex)> kind_of;
};

/// How a message reached us.
struct Delivery {
  Instant at;
  /// It had waited elsewhere: the arrival says nothing about when it was heard.
  bool held_back = false;
};

/// A frame, or a stretch of bytes, that gave no hearing.
struct Unread {
  Instant at;
  std::string_view reason;               ///< stable code
  std::string what;                      ///< for people
  std::span<const std::uint8_t> octets;  ///< its beginning
  std::size_t length = 0;                ///< all of it
};

/// Takes what a StreamDecoder makes of the bytes.
class HearingStream {
 public:
  virtual ~HearingStream() = default;
  /// `tag`: of the kind that the frame was read as; nothing for rows of logs.
  virtual void hearing(const fleet::Hearing& hearing, std::optional<std::uint32_t> tag) = 0;
  virtual void unread(const Unread& unread) = 0;
};

/// True where the bytes between frames look the same in both.
bool share_framing(const fleet::FrameFacts& a, const fleet::FrameFacts& b);

/// Bytes of one source into hearings.
///
/// Where the receiver's sheet has a frame, bytes are cut by its framing, and its
/// `payload` is read as a frame of one of the known kinds. Else they are cut by
/// the framing of the known kinds. With neither, they are rows of a log.
///
/// A hearing's time is what the frame says, less its age, and the arrival then
/// goes into `arrived_at`; where the frame says nothing it is the arrival. A time
/// more than a day ahead of the arrival is nobody's: the report is refused.
///
/// Kinds that are read from a stream cut it alike: share_framing() holds for each
/// two of them. Kinds without framing are found in messages alone.
///
/// Any split of a stream gives the same hearings, but for the times of arrival.
/// `labels` and what the options point to must outlive it. One thread at a time.
class StreamDecoder {
 public:
  StreamDecoder(const DecoderOptions& options, fleet::Labels& labels);
  ~StreamDecoder();
  StreamDecoder(StreamDecoder&&) noexcept;
  StreamDecoder& operator=(StreamDecoder&&) noexcept;
  StreamDecoder(const StreamDecoder&) = delete;
  StreamDecoder& operator=(const StreamDecoder&) = delete;

  /// The next bytes of a stream.
  void feed(std::span<const std::uint8_t> octets, Instant arrived, HearingStream& out);
  /// A datagram or message, whole.
  void message(std::span<const std::uint8_t> octets, const Delivery& delivery, HearingStream& out);
  /// Where the bytes to come are from the middle of a file: its first line, so that
  /// the columns of a log are known. Not counted; nothing where they are known.
  void resume(std::span<const std::uint8_t> first_line);
  /// The stream broke off (a port vanished) or ended.
  void finish(Instant at, HearingStream& out);

  const StreamLedger& ledger() const;

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace fieldfare::wire
