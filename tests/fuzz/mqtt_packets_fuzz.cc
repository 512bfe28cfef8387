// SPDX-License-Identifier: Apache-2.0
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <span>
#include <string>
#include <variant>
#include <vector>

#include "fieldfare/source/mqtt_packets.h"

namespace {

namespace mqtt = fieldfare::source::mqtt;

/// What came out of a stream: enough of it to see a difference.
struct Read {
  std::vector<std::size_t> kinds;
  std::uint64_t hash = 0;
  std::string broken;

  bool operator==(const Read&) const = default;
};

void add(Read& read, const mqtt::Packet& packet, mqtt::Version version) {
  read.kinds.push_back(packet.index());
  const auto mix = [&](std::uint64_t value) { read.hash = read.hash * 31 + value; };
  if (const auto* message = std::get_if<mqtt::Publish>(&packet)) {
    for (const char c : message->topic) mix(static_cast<std::uint8_t>(c));
    for (const std::uint8_t octet : message->payload) mix(octet);
    mix(message->id);
    // What was read can be written, and read again.
    mqtt::Octets again;
    mqtt::append_publish(again, *message, version);
    std::size_t count = 0;
    mqtt::PacketReader reader{version};
    const auto broken = reader.feed(again, [&](const mqtt::Packet& second) {
      const auto* same = std::get_if<mqtt::Publish>(&second);
      if (same == nullptr || same->topic != message->topic || same->id != message->id ||
          same->payload.size() != message->payload.size()) {
        std::abort();
      }
      ++count;
      return true;
    });
    if (broken || count != 1) std::abort();
  }
  if (const auto* message = std::get_if<mqtt::Oversize>(&packet)) mix(message->octets);
}

Read read(std::span<const std::uint8_t> octets, mqtt::Version version, std::size_t piece) {
  Read read;
  mqtt::PacketReader reader{version};
  for (std::size_t from = 0; from < octets.size(); from += piece) {
    const auto part = octets.subspan(from, std::min(piece, octets.size() - from));
    const std::vector<std::uint8_t> copy{part.begin(), part.end()};
    const auto broken = reader.feed(copy, [&](const mqtt::Packet& packet) {
      add(read, packet, version);
      return true;
    });
    if (broken) read.broken = *broken;
  }
  return read;
}

}  // namespace

/// Ends the program where a broker's octets in pieces give other packets than in
/// one go. The first octet is the version and the size of a piece.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  const auto version = (data[0] & 1) != 0 ? mqtt::Version::v5 : mqtt::Version::v3_1_1;
  const std::span octets{data + 1, size - 1};
  if (read(octets, version, size) != read(octets, version, data[0] / 2 + 1U)) std::abort();
  return 0;
}
