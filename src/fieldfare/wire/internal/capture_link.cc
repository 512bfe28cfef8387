// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/internal/capture_link.h"

#include <bit>

#include "fieldfare/wire/mac_frame.h"

namespace fieldfare::wire {
namespace {

using Octets = std::span<const std::uint8_t>;

constexpr std::size_t kShortestFrame = 5;  // acknowledgement: control, number, FCS
constexpr std::size_t kTrailerOctets = 2;
constexpr std::uint8_t kFlagOk = 0x80;
constexpr std::uint8_t kCorrelation = 0x7F;
/// Of the receivers that put RSSI and correlation behind the frame.
constexpr double kRssiOffsetDbm = -73;

constexpr double kWeakestDbm = -250;  // as in docs/formats/log.md
constexpr double kStrongestDbm = 100;

std::uint16_t number_at(Octets octets, std::size_t at) {
  return static_cast<std::uint16_t>(octets[at] | octets[at + 1] << 8);
}

CapturedFrame with_fcs(Octets frame, std::size_t fcs_octets) {
  CapturedFrame result;
  result.check_holds = has_valid_fcs(frame, fcs_octets);
  result.mac = frame.first(frame.size() - fcs_octets);
  return result;
}

std::optional<CapturedFrame> unwrap_trailer(Trailer trailer, Octets packet) {
  if (packet.size() < kTrailerOctets) return CapturedFrame{packet, false, {}, {}};
  if (trailer == Trailer::fcs) return with_fcs(packet, kTrailerOctets);
  CapturedFrame frame;
  frame.mac = packet.first(packet.size() - kTrailerOctets);
  const std::uint8_t flags = packet.back();
  frame.check_holds = (flags & kFlagOk) != 0;
  frame.rssi_dbm = static_cast<std::int8_t>(packet[packet.size() - 2]) + kRssiOffsetDbm;
  frame.lqi = flags & kCorrelation;
  return frame;
}

/// Four octets of preamble, start of frame A7, length of the frame.
std::optional<CapturedFrame> unwrap_phy(Octets packet) {
  constexpr std::size_t kStartAt = 4;
  constexpr std::uint8_t kStart = 0xA7;
  constexpr std::size_t kPhyOctets = 6;
  if (packet.size() < kPhyOctets || packet[kStartAt] != kStart) return std::nullopt;
  const std::size_t length = packet[kPhyOctets - 1] & 0x7F;
  const Octets rest = packet.subspan(kPhyOctets);
  if (length < kTrailerOctets || rest.size() < length) return std::nullopt;
  return with_fcs(rest.first(length), kTrailerOctets);
}

/// What the metadata say that counts here.
struct Metadata {
  std::uint8_t fcs_type = 0;
  std::optional<double> rssi_dbm;
  std::optional<double> lqi;
};

void take_metadata(std::uint16_t type, Octets value, Metadata& metadata) {
  constexpr std::uint16_t kFcsType = 0;
  constexpr std::uint16_t kSignalStrength = 1;
  constexpr std::uint16_t kLinkQuality = 10;
  if (type == kFcsType && !value.empty()) metadata.fcs_type = value[0];
  if (type == kLinkQuality && !value.empty()) metadata.lqi = value[0];
  if (type != kSignalStrength || value.size() < 4) return;
  const std::uint32_t bits = number_at(value, 0) | static_cast<std::uint32_t>(number_at(value, 2))
                                                       << 16;
  const double dbm = std::bit_cast<float>(bits);
  if (dbm >= kWeakestDbm && dbm <= kStrongestDbm) metadata.rssi_dbm = dbm;
}

/// Version, reserved octet, length of all in front of the frame; then each of the
/// metadata: type, length, value and padding to four octets.
std::optional<CapturedFrame> unwrap_metadata(Octets packet) {
  constexpr std::size_t kHeader = 4;
  if (packet.size() < kHeader || packet[0] != 0) return std::nullopt;
  const std::size_t front = number_at(packet, 2);
  if (front < kHeader || front > packet.size()) return std::nullopt;
  Metadata metadata;
  std::size_t at = kHeader;
  while (at < front) {
    if (front - at < kHeader) return std::nullopt;
    const std::size_t length = number_at(packet, at + 2);
    const std::size_t padded = (length + 3) / 4 * 4;
    if (front - at - kHeader < padded) return std::nullopt;
    take_metadata(number_at(packet, at), packet.subspan(at + kHeader, length), metadata);
    at += kHeader + padded;
  }
  if (metadata.fcs_type > 2) return std::nullopt;
  const Octets rest = packet.subspan(front);
  const std::size_t fcs_octets = std::size_t{metadata.fcs_type} * 2;
  if (rest.size() < fcs_octets) return std::nullopt;
  CapturedFrame frame;
  frame.mac = rest;
  if (fcs_octets > 0) frame = with_fcs(rest, fcs_octets);
  frame.rssi_dbm = metadata.rssi_dbm;
  frame.lqi = metadata.lqi;
  return frame;
}

}  // namespace

std::optional<CaptureLink> capture_link(int link_type) {
  for (const CaptureLink link : {CaptureLink::with_trailer, CaptureLink::with_phy,
                                 CaptureLink::without_fcs, CaptureLink::with_metadata}) {
    if (static_cast<int>(link) == link_type) return link;
  }
  return std::nullopt;
}

std::optional<CapturedFrame> unwrap(CaptureLink link, Trailer trailer, Octets packet) {
  switch (link) {
    case CaptureLink::with_trailer:
      return unwrap_trailer(trailer, packet);
    case CaptureLink::with_phy:
      return unwrap_phy(packet);
    case CaptureLink::without_fcs:
      break;
    case CaptureLink::with_metadata:
      return unwrap_metadata(packet);
  }
  CapturedFrame bare;
  bare.mac = packet;
  return bare;
}

void TrailerVote::count(Octets packet) {
  if (packet.size() < kShortestFrame) return;
  ++frames_;
  if (has_valid_fcs(packet, kTrailerOctets)) ++checks_held_;
  if ((packet.back() & kFlagOk) != 0) ++flags_set_;
}

std::optional<Trailer> TrailerVote::clear() const {
  // Three in the first 512 by chance: once in ten million captures.
  constexpr std::size_t kHeldEnough = 3;
  constexpr std::size_t kFlaggedEnough = 64;
  if (checks_held_ >= kHeldEnough) return Trailer::fcs;
  if (frames_ >= kFlaggedEnough && checks_held_ == 0 && mostly_flagged()) return Trailer::flags;
  return std::nullopt;
}

Trailer TrailerVote::final() const {
  constexpr std::size_t kFewestFlagged = 4;
  if (const auto shown = clear()) return *shown;
  // One check or two that held may be chance only among many frames.
  if (checks_held_ * 64 > frames_) return Trailer::fcs;
  return frames_ >= kFewestFlagged && mostly_flagged() ? Trailer::flags : Trailer::fcs;
}

}  // namespace fieldfare::wire
