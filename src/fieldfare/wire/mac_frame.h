// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "fieldfare/base/address.h"

// Headers of IEEE 802.15.4 frames, of its editions of 2003, 2006 and 2015 (2020).
namespace fieldfare::wire {

/// IEEE Std 802.15.4-2015 table 7-1; values are those sent.
enum class MacFrameType : std::uint8_t {
  beacon = 0,
  data = 1,
  acknowledgement = 2,
  command = 3,
  reserved = 4,
  multipurpose = 5,
  fragment = 6,
  extended = 7,
};

/// One side of a frame: who, and in which network.
struct MacParty {
  std::optional<std::uint16_t> pan_id;  ///< absent where the frame leaves it open
  std::optional<Address> address;       ///< 4 digits (short) or 16 (extended)
};

struct MacHeader {
  MacFrameType type = MacFrameType::data;
  std::uint8_t version = 0;  ///< 0: 2003, 1: 2006, 2: 2015 and later
  bool secured = false;
  bool pending = false;
  bool wants_acknowledgement = false;
  bool has_elements = false;             ///< information elements follow the header
  std::optional<std::uint8_t> sequence;  ///< absent where it is suppressed
  MacParty destination;                  ///< a compressed PAN ID is filled in
  MacParty source;
  std::size_t security_octets = 0;  ///< auxiliary security header, within `octets`
  std::size_t octets = 0;           ///< up to information elements or payload
};

/// Short addresses that name no single node: of the broadcast, and of a node
/// that has only its extended one.
inline constexpr std::uint16_t kBroadcastAddress = 0xFFFF;
inline constexpr std::uint16_t kNoShortAddress = 0xFFFE;

/// Reads the header of a frame, FCS or not behind it. Nothing where the octets
/// end within the header, for reserved versions and address modes, PAN ID
/// compression that cannot be, and for the types reserved, multipurpose,
/// fragment and extended, whose headers are of another kind. Never reads past
/// the octets.
///
/// Source: IEEE Std 802.15.4-2015 sections 7.2 (table 7-2 for the PAN IDs) and
/// 9.4, from memory; the tests compare with another dissector.
std::optional<MacHeader> parse_mac_header(std::span<const std::uint8_t> frame);

/// The type alone, which is readable in every version. Nothing of no octets.
std::optional<MacFrameType> mac_frame_type(std::span<const std::uint8_t> octets);

/// True where the frame's last octets are its frame check sequence: of 2 octets
/// the ITU-T CRC-16 (catalogue CRC-16/KERMIT), of 4 the CRC-32 (CRC-32/ISO-HDLC),
/// the least significant octet first.
/// Precondition: `fcs_octets` is 2 or 4. Shorter frames are false.
bool has_valid_fcs(std::span<const std::uint8_t> frame, std::size_t fcs_octets);

}  // namespace fieldfare::wire
