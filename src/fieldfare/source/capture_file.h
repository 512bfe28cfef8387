// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include "fieldfare/base/complaint.h"
#include "fieldfare/base/result.h"
#include "fieldfare/source/unpack.h"
#include "fieldfare/wire/capture_reader.h"

namespace fieldfare::source {

/// What capture files are told by.
inline constexpr std::size_t kCaptureMarkBytes = 4;

/// True where bytes begin as pcap (of micro- or nanoseconds, of either byte order)
/// or pcapng does.
bool is_capture(std::string_view front);

/// Takes packets one by one, each valid during its call alone; false ends the
/// reading.
using PacketSink = std::function<bool(const wire::CapturedPacket&)>;

struct CaptureReading {
  /// Where the capture broke off or was damaged; the packets before stand.
  std::optional<Complaint> torn;
};

/// Reads a capture through libpcap. `bytes` are unpacked ones and may come from a
/// pipe. Fails where they are no capture at all.
Result<CaptureReading, Complaint> read_capture(const std::string& file_name, const BytesIn& bytes,
                                               const PacketSink& sink);

}  // namespace fieldfare::source
