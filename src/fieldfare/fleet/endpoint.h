// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "fieldfare/base/complaint.h"
#include "fieldfare/base/result.h"

// Where hearings come in: the `source` of a receiver, written as a URL.
namespace fieldfare::fleet {

enum class Parity : std::uint8_t { none, even, odd };

/// `serial:///dev/ttyUSB0?baud=9600&parity=even&data=7&stop=2`
struct SerialEndpoint {
  std::string device;       ///< its whole path
  unsigned baud = 115'200;  ///< 50 to 4,000,000
  unsigned data_bits = 8;   ///< 5 to 8
  Parity parity = Parity::none;
  unsigned stop_bits = 1;  ///< 1 or 2

  bool operator==(const SerialEndpoint&) const = default;
};

/// `udp://0.0.0.0:5005`, `udp://[::1]:5005`: datagrams that come to this address
/// of this machine, given as a number.
struct UdpEndpoint {
  std::string host;  ///< IPv4, or IPv6 without brackets
  std::uint16_t port = 0;

  bool operator==(const UdpEndpoint&) const = default;
};

/// Registered with IANA for mqtt and secure-mqtt.
inline constexpr std::uint16_t kMqttPort = 1'883;
inline constexpr std::uint16_t kMqttsPort = 8'883;

/// `mqtt://broker:1883/dairy/%23?user=office&password-file=broker.secret`; `mqtts`
/// is the same over TLS. The path is the topic filter. Names of files are
/// relative to the site. No password ever stands in a URL.
struct MqttEndpoint {
  std::string host;
  std::uint16_t port = kMqttPort;
  std::string topic_filter;
  bool tls = false;
  unsigned version = 5;       ///< 5, or 4 for 3.1.1 (`version=3.1.1`)
  unsigned qos = 1;           ///< 0 or 1
  std::string client_id;      ///< empty: made from the site's and the receiver's name
  std::string user;           ///< empty: none
  std::string password_file;  ///< first line is the password; `fd:3` reads descriptor 3
  std::string ca_file;        ///< empty: what the system trusts
  std::string certificate_file;
  std::string key_file;

  bool operator==(const MqttEndpoint&) const = default;
};

/// `file:capture.log`, `file:///var/log/x.csv?from=end`: read as it grows, and
/// from its new beginning where it is replaced.
struct FileEndpoint {
  std::string path;
  bool from_end = false;  ///< what it holds when first seen is left out

  bool operator==(const FileEndpoint&) const = default;
};

/// `pipe:-` is standard input, `pipe:/run/x.fifo` a named pipe.
struct PipeEndpoint {
  std::string path;

  bool operator==(const PipeEndpoint&) const = default;
};

using Endpoint =
    std::variant<SerialEndpoint, UdpEndpoint, MqttEndpoint, FileEndpoint, PipeEndpoint>;

/// Reads such a URL (RFC 3986). A complaint's place has a column only, which
/// counts from 1, the first character of the URL. Texts in the result are UTF-8
/// without control characters.
Result<Endpoint, Complaint> parse_endpoint(std::string_view url);

/// The URL as people may see it, defaults left out. It holds no secret.
std::string text_of(const Endpoint& endpoint);

}  // namespace fieldfare::fleet
