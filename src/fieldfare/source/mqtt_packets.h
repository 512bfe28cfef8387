// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

// The packets that one who only listens exchanges with a broker, as octets and
// as values; nothing here knows of a network or a clock.
// Source: OASIS MQTT Version 5.0 (2019), chapters 1 to 3, and MQTT Version 3.1.1.
namespace fieldfare::source::mqtt {

enum class Version : std::uint8_t { v3_1_1 = 4, v5 = 5 };

/// Of a packet without its fixed header. Larger messages are skipped, larger
/// packets of other kinds are an error.
inline constexpr std::size_t kLargestPacket = std::size_t{1} << 20;

using Octets = std::vector<std::uint8_t>;

/// What we ask of a broker at the beginning. The session always outlives the
/// connection; version 3.1.1 knows neither its expiry nor a receive maximum.
struct Connect {
  Version version = Version::v5;
  std::string client_id;
  std::optional<std::string> user;
  std::optional<std::string> password;  ///< version 3.1.1 allows it with a user only
  bool clean = false;                   ///< forget an earlier session
  std::uint16_t keep_alive_s = 0;
  std::uint32_t session_expiry_s = 0;
  std::uint16_t receive_maximum = 65'535;
};

struct ConnAck {
  bool session_present = false;
  std::uint8_t code = 0;  ///< 0: accepted; the codes of the two versions differ
  std::string reason;     ///< as the broker put it; version 5 only
  std::optional<std::uint16_t> keep_alive_s;
  std::optional<std::uint8_t> maximum_qos;
};

struct Subscribe {
  std::uint16_t id = 0;
  std::string filter;
  std::uint8_t qos = 0;
};

struct SubAck {
  std::uint16_t id = 0;
  std::uint8_t code = 0;  ///< the granted QoS, or from 0x80 on a refusal
  std::string reason;
};

/// A message. Views into the reader's buffer where it was read.
struct Publish {
  std::string_view topic;
  std::span<const std::uint8_t> payload;
  std::uint8_t qos = 0;  ///< 0 or 1
  bool dup = false;
  bool retain = false;
  std::uint16_t id = 0;  ///< 0 with QoS 0
};

/// A message beyond kLargestPacket, of which only the head was kept.
struct Oversize {
  std::string topic;
  std::uint8_t qos = 0;
  std::uint16_t id = 0;
  std::size_t octets = 0;  ///< of the packet
};

struct PubAck {
  std::uint16_t id = 0;
  std::uint8_t code = 0;
};

struct PingResp {};

struct Disconnect {
  std::uint8_t code = 0;
  std::string reason;
};

using Packet = std::variant<ConnAck, SubAck, Publish, Oversize, PubAck, PingResp, Disconnect>;

void append_connect(Octets& to, const Connect& connect);
void append_subscribe(Octets& to, const Subscribe& subscribe, Version version);
/// `topic` of at most 65,535 octets.
void append_publish(Octets& to, const Publish& publish, Version version);
/// The same in both versions: success needs no reason.
void append_puback(Octets& to, std::uint16_t id);
void append_pingreq(Octets& to);
void append_disconnect(Octets& to, std::uint8_t code, Version version);

/// Cuts what a broker sends into packets, however the octets are split.
///
/// Strict: flags, identifiers, lengths, UTF-8 and properties must be as the
/// standard demands. One that fails ends the stream: where the next packet
/// begins is then unknown.
class PacketReader {
 public:
  explicit PacketReader(Version version) : version_{version} {}

  /// Hands over each packet that is complete, until `take` returns false; what
  /// follows then waits for the next call. Views are valid during the call of
  /// `take`. Returns why the stream can't be read on, if so; then for ever.
  std::optional<std::string> feed(std::span<const std::uint8_t> octets,
                                  const std::function<bool(const Packet&)>& take);

 private:
  struct Header {
    std::uint8_t type = 0;
    std::uint8_t flags = 0;
    std::size_t size = 0;         ///< of the fixed header
    std::size_t body_octets = 0;  ///< what follows it
  };
  enum class Step : std::uint8_t { packet, stop, more, broken };

  Step next(std::span<const std::uint8_t> octets, std::size_t& used,
            const std::function<bool(const Packet&)>& take);
  Step oversize(const Header& header, std::span<const std::uint8_t> octets, std::size_t& used,
                const std::function<bool(const Packet&)>& take);
  Step header_of(std::span<const std::uint8_t> octets, Header& header);
  Step fail(std::string why);

  Version version_;
  std::vector<std::uint8_t> held_;  ///< the beginning of a packet that is not complete
  std::size_t skip_ = 0;            ///< octets of an oversize message still to come
  std::optional<std::string> broken_;
};

/// What a code of CONNACK, SUBACK or DISCONNECT means; never empty.
std::string_view words_of(std::uint8_t code, Version version);

/// Whether this is well-formed UTF-8 without U+0000, as MQTT wants its strings.
bool is_mqtt_text(std::string_view text);

}  // namespace fieldfare::source::mqtt
