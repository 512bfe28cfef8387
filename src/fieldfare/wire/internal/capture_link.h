// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

// What capture files put around the frames of IEEE 802.15.4.
namespace fieldfare::wire {

/// LINKTYPE_ numbers of the pcap formats. Source: the registry of link-layer
/// header types of the libpcap project.
enum class CaptureLink : int {
  with_trailer = 195,  ///< FCS, or what a receiver puts in its place
  with_phy = 215,      ///< preamble, start of frame and PHY header in front, FCS behind
  without_fcs = 230,
  with_metadata = 283,  ///< type, length and value of metadata in front
};

std::optional<CaptureLink> capture_link(int link_type);

/// What stands behind the frames under link type 195: the capture doesn't say.
enum class Trailer : std::uint8_t {
  fcs,    ///< ITU-T CRC-16
  flags,  ///< RSSI; then bit 7: the receiver found the FCS right, bits 0 to 6: correlation
};

/// What is left of a packet when its wrapping is off.
struct CapturedFrame {
  std::span<const std::uint8_t> mac;  ///< from the frame control on, FCS not included
  bool check_holds = true;            ///< also where none was captured
  std::optional<double> rssi_dbm;
  std::optional<double> lqi;
};

/// Nothing where the wrapping itself is damaged. `trailer` counts for link type
/// 195 alone.
std::optional<CapturedFrame> unwrap(CaptureLink link, Trailer trailer,
                                    std::span<const std::uint8_t> packet);

/// Finds out from frames which trailer a capture has. A check of 16 bits holds by
/// chance once in 65536 frames, so that a few that hold settle it; where none
/// holds and most frames say that their receiver's check did, it is flags.
class TrailerVote {
 public:
  void count(std::span<const std::uint8_t> packet);

  /// What the frames so far show beyond doubt.
  std::optional<Trailer> clear() const;
  /// What they show at the end: flags only where enough say so, as frames whose
  /// check fails must make no node known.
  Trailer final() const;

  std::size_t frames() const { return frames_; }
  std::size_t checks_held() const { return checks_held_; }
  std::size_t flags_set() const { return flags_set_; }

 private:
  bool mostly_flagged() const { return flags_set_ * 4 >= frames_ * 3; }

  std::size_t frames_ = 0;
  std::size_t checks_held_ = 0;
  std::size_t flags_set_ = 0;
};

}  // namespace fieldfare::wire
