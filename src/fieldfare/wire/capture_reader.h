// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "fieldfare/base/complaint.h"
#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/labels.h"
#include "fieldfare/wire/hearing_sink.h"
#include "fieldfare/wire/ledger.h"

namespace fieldfare::wire {

/// A packet as a capture file holds it.
struct CapturedPacket {
  int link_type = 0;  ///< LINKTYPE_ number of the pcap formats
  Instant time;
  std::span<const std::uint8_t> octets;
  std::size_t original_octets = 0;  ///< on air; more than there are where it was cut
};

/// Whose frames of a capture are kept. All else is counted, no more.
struct CaptureSieve {
  std::optional<std::uint16_t> pan_id;  ///< the site's network
  bool roster_only = false;             ///< nodes that are listed in the labels
  bool keep_foreign = false;            ///< everybody's after all

  bool operator==(const CaptureSieve&) const = default;
};

struct CaptureOptions {
  std::string file_name;  ///< for the places of complaints
  std::string receiver;   ///< who heard it
  CaptureSieve sieve;
};

/// Turns captured IEEE 802.15.4 frames into hearings, as docs/formats/log.md says:
/// link types 195 (FCS or RSSI and correlation behind the frame), 215 (with the
/// PHY header), 230 (no FCS) and 283 (with metadata in front).
///
/// Every packet is a row of the ledger, its number (from 1) the line. Frames whose
/// check fails make no node known. An extended address names its node; a short
/// one of the sieve's PAN that is listed names that node, any other stands as
/// `PAN/address`, so that equal addresses in two networks are two nodes.
///
/// Under link type 195 the first frames, kHeldPackets at most, are held back until
/// they have shown what stands behind them.
///
/// `labels` and `ledger` must outlive the reader. Not for use by two threads.
class CaptureReader {
 public:
  static constexpr std::size_t kHeldPackets = 512;
  /// Longer packets are none of IEEE 802.15.4 (2047 octets, and metadata).
  static constexpr std::size_t kLongestPacket = 4096;

  CaptureReader(CaptureOptions options, fleet::Labels& labels, Ledger& ledger);
  ~CaptureReader();
  CaptureReader(CaptureReader&&) noexcept;
  CaptureReader& operator=(CaptureReader&&) noexcept;
  CaptureReader(const CaptureReader&) = delete;
  CaptureReader& operator=(const CaptureReader&) = delete;

  void feed(const CapturedPacket& packet, const HearingSink& sink);

  /// Says that no more will come. Senders found to number frames to several
  /// listeners with one counter are now noted in the labels.
  void finish(const HearingSink& sink);

  /// Why the capture as a whole cannot be read: a link type that isn't one of
  /// the above. All packets are ignored from then on.
  const std::optional<Complaint>& fatal() const;

  /// What was found out about the capture, each once.
  const std::vector<Complaint>& notes() const;

 private:
  class Impl;
  std::unique_ptr<Impl> impl_;
};

}  // namespace fieldfare::wire
