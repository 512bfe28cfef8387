// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <vector>

#include "fieldfare/wire/capture_reader.h"
#include "fieldfare/wire/mac_frame.h"

namespace {

using fieldfare::Instant;

/// A header that was read has to lie within the frame.
void check_header(const std::vector<std::uint8_t>& frame) {
  const auto header = fieldfare::wire::parse_mac_header(frame);
  if (header && header->octets > frame.size()) std::abort();
  if (header && header->security_octets > header->octets) std::abort();
}

/// Reads the octets as packets, each with its length in front.
void check_capture(int link_type, const std::vector<std::uint8_t>& octets) {
  fieldfare::fleet::Labels labels;
  fieldfare::wire::Ledger ledger;
  fieldfare::wire::CaptureReader reader{{"fuzz.pcap", "r1", {}}, labels, ledger};
  std::uint64_t heard = 0;
  std::uint64_t packets = 0;
  const auto count = [&](const fieldfare::fleet::Hearing&) { ++heard; };
  for (std::size_t at = 0; at < octets.size();) {
    const std::size_t size = std::min<std::size_t>(octets[at], octets.size() - at - 1);
    const auto begin = octets.begin() + static_cast<std::ptrdiff_t>(at) + 1;
    const std::vector<std::uint8_t> packet(begin, begin + static_cast<std::ptrdiff_t>(size));
    reader.feed({link_type, Instant{1'772'431'200'000'000'000}, packet, size}, count);
    ++packets;
    at += size + 1;
  }
  reader.finish(count);
  if (ledger.rows_read() != packets || ledger.rows_accepted() != heard) std::abort();
}

}  // namespace

/// Ends the program where a header lies beyond its frame, or a packet is neither
/// heard nor counted. The first byte chooses the link type.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) return 0;
  constexpr int kLinkTypes[] = {195, 215, 230, 283};
  const std::vector<std::uint8_t> octets(data + 1, data + size);
  check_header(octets);
  check_capture(kLinkTypes[data[0] % 4], octets);
  return 0;
}
