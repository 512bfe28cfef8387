// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/mac_frame.h"

#include <cassert>

#include "fieldfare/base/crc.h"

namespace fieldfare::wire {
namespace {

enum class Mode : std::uint8_t { none = 0, reserved = 1, short_address = 2, extended = 3 };

constexpr std::uint8_t kVersion2015 = 2;
constexpr std::uint8_t kVersionReserved = 3;

/// Takes little-endian numbers off the front; zero, and not ok, past the end.
class Octets {
 public:
  explicit Octets(std::span<const std::uint8_t> octets) : octets_{octets} {}

  std::uint64_t take(std::size_t count) {
    if (octets_.size() - at_ < count) {
      ok_ = false;
      return 0;
    }
    std::uint64_t value = 0;
    for (std::size_t i = 0; i < count; ++i) {
      value |= std::uint64_t{octets_[at_ + i]} << (8 * i);
    }
    at_ += count;
    return value;
  }
  void skip(std::size_t count) {
    if (octets_.size() - at_ < count) {
      ok_ = false;
    } else {
      at_ += count;
    }
  }
  bool ok() const { return ok_; }
  std::size_t at() const { return at_; }

 private:
  std::span<const std::uint8_t> octets_;
  std::size_t at_ = 0;
  bool ok_ = true;
};

struct PanIds {
  bool destination = false;
  bool source = false;
};

/// Editions of 2003 and 2006: a PAN ID with every address, the source's left out
/// where the bit says that both are the same.
std::optional<PanIds> pan_ids_2006(Mode destination, Mode source, bool compressed) {
  const bool both = destination != Mode::none && source != Mode::none;
  if (compressed && !both) return std::nullopt;
  return PanIds{destination != Mode::none, source != Mode::none && !compressed};
}

/// Edition of 2015, table 7-2.
PanIds pan_ids_2015(Mode destination, Mode source, bool compressed) {
  if (destination == Mode::none && source == Mode::none) return {compressed, false};
  if (source == Mode::none) return {!compressed, false};
  if (destination == Mode::none) return {false, !compressed};
  if (destination == Mode::extended && source == Mode::extended) return {!compressed, false};
  return {true, !compressed};
}

std::optional<Address> take_address(Octets& octets, Mode mode) {
  if (mode == Mode::short_address) return Address{octets.take(2), 4};
  if (mode == Mode::extended) return Address{octets.take(8), 16};
  return std::nullopt;
}

/// Auxiliary security header: control, frame counter, key identifier.
void skip_security(Octets& octets, std::uint8_t version) {
  constexpr std::size_t kKeyIdentifier[] = {0, 1, 5, 9};
  const std::uint64_t control = octets.take(1);
  const bool counter_suppressed = version == kVersion2015 && (control & 0x20) != 0;
  if (!counter_suppressed) octets.skip(4);
  octets.skip(kKeyIdentifier[control >> 3 & 3]);
}

bool has_general_header(MacFrameType type) { return type <= MacFrameType::command; }

/// Reads PAN IDs and addresses; false where their combination cannot be.
bool take_parties(Octets& octets, unsigned control, MacHeader& header) {
  const auto destination = Mode{static_cast<std::uint8_t>(control >> 10 & 3)};
  const auto source = Mode{static_cast<std::uint8_t>(control >> 14 & 3)};
  if (destination == Mode::reserved || source == Mode::reserved) return false;
  const bool compressed = (control & 0x0040) != 0;
  const auto present = header.version == kVersion2015
                           ? pan_ids_2015(destination, source, compressed)
                           : pan_ids_2006(destination, source, compressed);
  if (!present) return false;
  if (present->destination) {
    header.destination.pan_id = static_cast<std::uint16_t>(octets.take(2));
  }
  header.destination.address = take_address(octets, destination);
  if (present->source) header.source.pan_id = static_cast<std::uint16_t>(octets.take(2));
  header.source.address = take_address(octets, source);
  if (header.source.address && !header.source.pan_id) {
    header.source.pan_id = header.destination.pan_id;
  }
  return true;
}

}  // namespace

std::optional<MacFrameType> mac_frame_type(std::span<const std::uint8_t> octets) {
  if (octets.empty()) return std::nullopt;
  return MacFrameType{static_cast<std::uint8_t>(octets[0] & 7)};
}

std::optional<MacHeader> parse_mac_header(std::span<const std::uint8_t> frame) {
  Octets octets{frame};
  const auto control = static_cast<unsigned>(octets.take(2));
  if (!octets.ok()) return std::nullopt;
  MacHeader header;
  header.type = MacFrameType{static_cast<std::uint8_t>(control & 7)};
  header.version = static_cast<std::uint8_t>(control >> 12 & 3);
  if (!has_general_header(header.type) || header.version == kVersionReserved) return std::nullopt;
  header.secured = (control & 0x0008) != 0;
  header.pending = (control & 0x0010) != 0;
  header.wants_acknowledgement = (control & 0x0020) != 0;
  // Both bits are reserved in the editions before.
  const bool suppressed = header.version == kVersion2015 && (control & 0x0100) != 0;
  header.has_elements = header.version == kVersion2015 && (control & 0x0200) != 0;
  if (!suppressed) header.sequence = static_cast<std::uint8_t>(octets.take(1));
  if (!take_parties(octets, control, header)) return std::nullopt;
  // The edition of 2003 keeps no security header apart from the payload.
  if (header.secured && header.version > 0) {
    const std::size_t before = octets.at();
    skip_security(octets, header.version);
    header.security_octets = octets.at() - before;
  }
  if (!octets.ok()) return std::nullopt;
  header.octets = octets.at();
  return header;
}

bool has_valid_fcs(std::span<const std::uint8_t> frame, std::size_t fcs_octets) {
  assert(fcs_octets == 2 || fcs_octets == 4);
  static const Crc crc16{*find_crc_model("crc-16/kermit")};
  static const Crc crc32{*find_crc_model("crc-32/iso-hdlc")};
  if (frame.size() < fcs_octets) return false;
  const auto body = frame.first(frame.size() - fcs_octets);
  Octets sent{frame.last(fcs_octets)};
  return (fcs_octets == 2 ? crc16 : crc32).of(body) == sent.take(fcs_octets);
}

}  // namespace fieldfare::wire
