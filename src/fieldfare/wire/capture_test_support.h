// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <initializer_list>
#include <vector>

#include "fieldfare/base/crc.h"

// Frames of IEEE 802.15.4 for tests, invented.
namespace fieldfare::wire::test {

using Octets = std::vector<std::uint8_t>;

inline void put(Octets& octets, std::uint64_t value, std::size_t count) {
  for (std::size_t i = 0; i < count; ++i) {
    octets.push_back(static_cast<std::uint8_t>(value >> (8 * i)));
  }
}

/// A data frame of the edition of 2006 within one network, short addresses, with
/// four octets of payload and no FCS.
inline Octets data_frame(std::uint16_t pan, std::uint16_t from, std::uint16_t to,
                         std::uint8_t sequence) {
  Octets octets;
  put(octets, 0x9841, 2);  // data, PAN ID compressed, both short, version 1
  put(octets, sequence, 1);
  put(octets, pan, 2);
  put(octets, to, 2);
  put(octets, from, 2);
  put(octets, 0x04030201, 4);
  return octets;
}

/// The same from an extended address.
inline Octets extended_frame(std::uint16_t pan, std::uint64_t from, std::uint8_t sequence) {
  Octets octets;
  put(octets, 0xD841, 2);  // data, PAN ID compressed, to short, from extended, version 1
  put(octets, sequence, 1);
  put(octets, pan, 2);
  put(octets, 0, 2);
  put(octets, from, 8);
  put(octets, 0x04030201, 4);
  return octets;
}

inline Octets with_fcs(Octets frame) {
  put(frame, Crc{*find_crc_model("crc-16/kermit")}.of(frame), 2);
  return frame;
}

/// What some receivers put in place of the FCS; `rssi` without its offset.
inline Octets with_flags(Octets frame, std::int8_t rssi, bool ok, std::uint8_t correlation) {
  frame.push_back(static_cast<std::uint8_t>(rssi));
  frame.push_back(static_cast<std::uint8_t>((ok ? 0x80 : 0) | correlation));
  return frame;
}

/// Preamble, start of frame and length in front.
inline Octets with_phy(const Octets& frame) {
  Octets octets{0, 0, 0, 0, 0xA7, static_cast<std::uint8_t>(frame.size())};
  octets.insert(octets.end(), frame.begin(), frame.end());
  return octets;
}

/// Metadata in front: FCS type, RSS as bits of a float, channel, LQI.
inline Octets with_metadata(const Octets& frame, std::uint8_t fcs_type, std::uint32_t rss_bits) {
  Octets octets;
  put(octets, 0x0024'0000, 4);  // version 0, 36 octets in front
  put(octets, 0x0001'0000, 4);  // FCS type, 1 octet, padded
  put(octets, fcs_type, 4);
  put(octets, 0x0004'0001, 4);  // RSS
  put(octets, rss_bits, 4);
  put(octets, 0x0003'0003, 4);  // channel 20, page 0
  put(octets, 20, 4);
  put(octets, 0x0001'000A, 4);  // LQI
  put(octets, 200, 4);
  octets.insert(octets.end(), frame.begin(), frame.end());
  return octets;
}

}  // namespace fieldfare::wire::test
