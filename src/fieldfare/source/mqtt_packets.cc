// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/mqtt_packets.h"

#include <algorithm>
#include <array>
#include <cassert>
#include <utility>

#include "fieldfare/wire/excerpt.h"

namespace fieldfare::source::mqtt {
namespace {

enum Type : std::uint8_t {
  kConnect = 1,
  kConnAck = 2,
  kPublish = 3,
  kPubAck = 4,
  kSubscribe = 8,
  kSubAck = 9,
  kPingReq = 12,
  kPingResp = 13,
  kDisconnect = 14,
};

enum class Shape : std::uint8_t { none, byte, two, four, variable, text, binary, pair };

constexpr unsigned bit(Type type) { return 1U << type; }

struct PropertyRule {
  Shape shape = Shape::none;
  unsigned packets = 0;  ///< in which it may stand, of those that a broker sends
  bool many = false;     ///< more than once
};

enum Property : std::uint8_t {
  kSessionExpiry = 0x11,
  kServerKeepAlive = 0x13,
  kReasonString = 0x1F,
  kReceiveMaximum = 0x21,
  kTopicAlias = 0x23,
  kMaximumQos = 0x24,
};

/// MQTT 5.0 table 2-4, for the packets that come to us.
constexpr std::array<PropertyRule, 43> kRules = [] {
  std::array<PropertyRule, 43> rules{};
  const unsigned all =
      bit(kConnAck) | bit(kPublish) | bit(kPubAck) | bit(kSubAck) | bit(kDisconnect);
  rules[0x01] = {Shape::byte, bit(kPublish)};
  rules[0x02] = {Shape::four, bit(kPublish)};
  rules[0x03] = {Shape::text, bit(kPublish)};
  rules[0x08] = {Shape::text, bit(kPublish)};
  rules[0x09] = {Shape::binary, bit(kPublish)};
  rules[0x0B] = {Shape::variable, bit(kPublish), true};
  rules[kSessionExpiry] = {Shape::four, bit(kConnAck) | bit(kDisconnect)};
  rules[0x12] = {Shape::text, bit(kConnAck)};
  rules[kServerKeepAlive] = {Shape::two, bit(kConnAck)};
  rules[0x15] = {Shape::text, bit(kConnAck)};
  rules[0x16] = {Shape::binary, bit(kConnAck)};
  rules[0x1A] = {Shape::text, bit(kConnAck)};
  rules[0x1C] = {Shape::text, bit(kConnAck) | bit(kDisconnect)};
  rules[kReasonString] = {Shape::text, all & ~bit(kPublish)};
  rules[kReceiveMaximum] = {Shape::two, bit(kConnAck)};
  rules[0x22] = {Shape::two, bit(kConnAck)};
  rules[kTopicAlias] = {Shape::two, bit(kPublish)};
  rules[kMaximumQos] = {Shape::byte, bit(kConnAck)};
  rules[0x25] = {Shape::byte, bit(kConnAck)};
  rules[0x26] = {Shape::pair, all, true};
  rules[0x27] = {Shape::four, bit(kConnAck)};
  rules[0x28] = {Shape::byte, bit(kConnAck)};
  rules[0x29] = {Shape::byte, bit(kConnAck)};
  rules[0x2A] = {Shape::byte, bit(kConnAck)};
  return rules;
}();

/// Reads forward; once it ran out, good() is false and all reads give nothing.
class Cursor {
 public:
  explicit Cursor(std::span<const std::uint8_t> octets) : octets_{octets} {}

  bool good() const { return good_; }
  void fail() { good_ = false; }
  std::size_t left() const { return octets_.size(); }
  std::span<const std::uint8_t> rest() { return std::exchange(octets_, {}); }

  std::uint32_t number(std::size_t width) {
    std::uint32_t value = 0;
    for (const std::uint8_t octet : take(width)) value = value << 8 | octet;
    return value;
  }
  std::uint8_t byte() { return static_cast<std::uint8_t>(number(1)); }
  std::uint16_t two() { return static_cast<std::uint16_t>(number(2)); }

  std::uint32_t variable() {
    std::uint32_t value = 0;
    for (unsigned shift = 0; shift <= 21; shift += 7) {
      const std::uint8_t octet = byte();
      value |= static_cast<std::uint32_t>(octet & 0x7F) << shift;
      if (octet < 0x80) {
        // The fewest octets that hold the value [MQTT-1.5.5-1].
        if (octet == 0 && shift > 0) good_ = false;
        return value;
      }
    }
    good_ = false;
    return 0;
  }

  std::string_view binary() {
    const auto octets = take(two());
    return {reinterpret_cast<const char*>(octets.data()), octets.size()};
  }
  std::string_view text() {
    const std::string_view text = binary();
    if (!is_mqtt_text(text)) good_ = false;
    return good_ ? text : std::string_view{};
  }
  Cursor part(std::size_t size) { return Cursor{take(size), good_}; }

 private:
  Cursor(std::span<const std::uint8_t> octets, bool good) : octets_{octets}, good_{good} {}

  std::span<const std::uint8_t> take(std::size_t size) {
    if (size > octets_.size()) good_ = false;
    if (!good_) return {};
    const auto taken = octets_.first(size);
    octets_ = octets_.subspan(size);
    return taken;
  }

  std::span<const std::uint8_t> octets_;
  bool good_ = true;
};

/// The properties that we make use of; the others are checked and passed over.
struct Properties {
  std::string reason;
  std::optional<std::uint16_t> keep_alive_s;
  std::optional<std::uint8_t> maximum_qos;
  bool topic_alias = false;
};

void read_property(Cursor& cursor, std::uint32_t id, Shape shape, Properties& properties) {
  switch (shape) {
    case Shape::byte: {
      // All of them are 0 or 1.
      const std::uint8_t value = cursor.byte();
      if (value > 1) cursor.fail();
      if (id == kMaximumQos) properties.maximum_qos = value;
      break;
    }
    case Shape::two: {
      const std::uint16_t value = cursor.two();
      if (id == kServerKeepAlive) properties.keep_alive_s = value;
      if (id == kTopicAlias) properties.topic_alias = true;
      break;
    }
    case Shape::four:
      cursor.number(4);
      break;
    case Shape::variable:
      cursor.variable();
      break;
    case Shape::text: {
      const std::string_view text = cursor.text();
      if (id == kReasonString) properties.reason = text;
      break;
    }
    case Shape::binary:
      cursor.binary();
      break;
    case Shape::pair:
      cursor.text();
      cursor.text();
      break;
    case Shape::none:
      break;
  }
}

/// Nothing where they are not as the standard wants them.
std::optional<Properties> read_properties(Cursor& cursor, Type packet) {
  Properties properties;
  Cursor inside = cursor.part(cursor.variable());
  std::uint64_t seen = 0;
  while (inside.good() && inside.left() > 0) {
    const std::uint32_t id = inside.variable();
    if (!inside.good() || id >= kRules.size()) return std::nullopt;
    const PropertyRule& rule = kRules[id];
    const bool again = (seen >> id & 1) != 0;
    if ((rule.packets & bit(packet)) == 0 || (again && !rule.many)) return std::nullopt;
    seen |= std::uint64_t{1} << id;
    read_property(inside, id, rule.shape, properties);
  }
  if (!inside.good() || !cursor.good()) return std::nullopt;
  return properties;
}

using Body = std::span<const std::uint8_t>;

std::optional<ConnAck> read_connack(Body body, Version version) {
  Cursor cursor{body};
  ConnAck ack;
  const std::uint8_t flags = cursor.byte();
  ack.code = cursor.byte();
  ack.session_present = flags == 1;
  if (!cursor.good() || flags > 1 || (ack.session_present && ack.code != 0)) return std::nullopt;
  // A broker that knows no version 5 refuses it in the shape of 3.1.1.
  const bool bare = version == Version::v3_1_1 || (ack.code != 0 && cursor.left() == 0);
  if (!bare) {
    const auto properties = read_properties(cursor, kConnAck);
    if (!properties) return std::nullopt;
    ack.reason = properties->reason;
    ack.keep_alive_s = properties->keep_alive_s;
    ack.maximum_qos = properties->maximum_qos;
  }
  if (cursor.left() > 0) return std::nullopt;
  return ack;
}

bool is_topic_name(std::string_view topic) {
  return !topic.empty() && topic.find_first_of("+#") == std::string_view::npos;
}

std::optional<Publish> read_publish(Body body, std::uint8_t flags, Version version) {
  Cursor cursor{body};
  Publish publish;
  publish.qos = flags >> 1 & 3;
  publish.dup = (flags & 8) != 0;
  publish.retain = (flags & 1) != 0;
  // QoS 2 was not subscribed to, 3 does not exist; a message that nobody
  // acknowledges is not sent again.
  if (publish.qos > 1 || (publish.qos == 0 && publish.dup)) return std::nullopt;
  publish.topic = cursor.text();
  if (publish.qos > 0) {
    publish.id = cursor.two();
    if (publish.id == 0) return std::nullopt;
  }
  if (version == Version::v5) {
    const auto properties = read_properties(cursor, kPublish);
    if (!properties || properties->topic_alias) return std::nullopt;  // we allowed none
  }
  if (!cursor.good() || !is_topic_name(publish.topic)) return std::nullopt;
  publish.payload = cursor.rest();
  return publish;
}

std::optional<PubAck> read_puback(Body body, Version version) {
  Cursor cursor{body};
  PubAck ack{.id = cursor.two()};
  if (version == Version::v5 && cursor.left() > 0) ack.code = cursor.byte();
  if (version == Version::v5 && cursor.left() > 0 && !read_properties(cursor, kPubAck)) {
    return std::nullopt;
  }
  if (!cursor.good() || cursor.left() > 0 || ack.id == 0) return std::nullopt;
  return ack;
}

std::optional<SubAck> read_suback(Body body, Version version) {
  Cursor cursor{body};
  SubAck ack;
  ack.id = cursor.two();
  if (version == Version::v5) {
    const auto properties = read_properties(cursor, kSubAck);
    if (!properties) return std::nullopt;
    ack.reason = properties->reason;
  }
  ack.code = cursor.byte();
  // One answer, as we ask for one filter at a time.
  if (!cursor.good() || cursor.left() > 0 || ack.id == 0) return std::nullopt;
  return ack;
}

std::optional<Disconnect> read_disconnect(Body body, Version version) {
  if (version == Version::v3_1_1) return std::nullopt;  // only a client sends it there
  Cursor cursor{body};
  Disconnect disconnect;
  if (cursor.left() > 0) disconnect.code = cursor.byte();
  if (cursor.left() > 0) {
    const auto properties = read_properties(cursor, kDisconnect);
    if (!properties) return std::nullopt;
    disconnect.reason = properties->reason;
  }
  if (!cursor.good() || cursor.left() > 0) return std::nullopt;
  return disconnect;
}

template <class T>
std::optional<Packet> as_packet(std::optional<T> packet) {
  if (!packet) return std::nullopt;
  return Packet{*std::move(packet)};
}

std::optional<Packet> read_packet(std::uint8_t type, std::uint8_t flags, Body body,
                                  Version version) {
  if (type == kPublish) return as_packet(read_publish(body, flags, version));
  if (flags != 0) return std::nullopt;
  switch (type) {
    case kConnAck:
      return as_packet(read_connack(body, version));
    case kPubAck:
      return as_packet(read_puback(body, version));
    case kSubAck:
      return as_packet(read_suback(body, version));
    case kPingResp:
      if (body.empty()) return Packet{PingResp{}};
      return std::nullopt;
    case kDisconnect:
      return as_packet(read_disconnect(body, version));
    default:
      return std::nullopt;
  }
}

std::string name_of(std::uint8_t type) {
  static constexpr std::array<const char*, 16> kNames = {
      "packet of type 0", "CONNECT",  "CONNACK",    "PUBLISH", "PUBACK",      "PUBREC",
      "PUBREL",           "PUBCOMP",  "SUBSCRIBE",  "SUBACK",  "UNSUBSCRIBE", "UNSUBACK",
      "PINGREQ",          "PINGRESP", "DISCONNECT", "AUTH"};
  return kNames[type & 15];
}

void put_two(Octets& to, std::size_t value) {
  to.push_back(static_cast<std::uint8_t>(value >> 8));
  to.push_back(static_cast<std::uint8_t>(value));
}

void put_four(Octets& to, std::uint32_t value) {
  put_two(to, value >> 16);
  put_two(to, value & 0xFFFF);
}

void put_variable(Octets& to, std::size_t value) {
  do {
    const auto low = static_cast<std::uint8_t>(value & 0x7F);
    value >>= 7;
    to.push_back(value > 0 ? low | 0x80 : low);
  } while (value > 0);
}

void put_text(Octets& to, std::string_view text) {
  assert(text.size() <= 0xFFFF);
  put_two(to, text.size());
  to.insert(to.end(), text.begin(), text.end());
}

void put_packet(Octets& to, std::uint8_t first, const Octets& body) {
  to.push_back(first);
  put_variable(to, body.size());
  to.insert(to.end(), body.begin(), body.end());
}

constexpr std::uint8_t first_of(Type type, unsigned flags = 0) {
  return static_cast<std::uint8_t>(static_cast<unsigned>(type) << 4 | flags);
}

}  // namespace

void append_connect(Octets& to, const Connect& connect) {
  Octets body;
  put_text(body, "MQTT");
  body.push_back(static_cast<std::uint8_t>(connect.version));
  const unsigned flags =
      (connect.user ? 0x80U : 0U) | (connect.password ? 0x40U : 0U) | (connect.clean ? 0x02U : 0U);
  body.push_back(static_cast<std::uint8_t>(flags));
  put_two(body, connect.keep_alive_s);
  if (connect.version == Version::v5) {
    Octets properties;
    properties.push_back(kSessionExpiry);
    put_four(properties, connect.session_expiry_s);
    if (connect.receive_maximum != 65'535) {
      properties.push_back(kReceiveMaximum);
      put_two(properties, connect.receive_maximum);
    }
    put_variable(body, properties.size());
    body.insert(body.end(), properties.begin(), properties.end());
  }
  put_text(body, connect.client_id);
  if (connect.user) put_text(body, *connect.user);
  if (connect.password) put_text(body, *connect.password);
  put_packet(to, first_of(kConnect), body);
}

void append_subscribe(Octets& to, const Subscribe& subscribe, Version version) {
  // Retain handling 2: send no retained messages when subscribing.
  constexpr std::uint8_t kNoRetained = 2 << 4;
  Octets body;
  put_two(body, subscribe.id);
  if (version == Version::v5) put_variable(body, 0);
  put_text(body, subscribe.filter);
  body.push_back(version == Version::v5 ? subscribe.qos | kNoRetained : subscribe.qos);
  put_packet(to, first_of(kSubscribe, 2), body);
}

void append_publish(Octets& to, const Publish& publish, Version version) {
  const unsigned flags = (publish.dup ? 8U : 0U) | static_cast<unsigned>(publish.qos) << 1 |
                         (publish.retain ? 1U : 0U);
  Octets body;
  put_text(body, publish.topic);
  if (publish.qos > 0) put_two(body, publish.id);
  if (version == Version::v5) put_variable(body, 0);
  body.insert(body.end(), publish.payload.begin(), publish.payload.end());
  put_packet(to, first_of(kPublish, flags), body);
}

void append_puback(Octets& to, std::uint16_t id) {
  to.push_back(first_of(kPubAck));
  to.push_back(2);
  put_two(to, id);
}

void append_pingreq(Octets& to) {
  to.push_back(first_of(kPingReq));
  to.push_back(0);
}

void append_disconnect(Octets& to, std::uint8_t code, Version version) {
  to.push_back(first_of(kDisconnect));
  if (version == Version::v3_1_1 || code == 0) {
    to.push_back(0);
  } else {
    to.push_back(1);
    to.push_back(code);
  }
}

PacketReader::Step PacketReader::fail(std::string why) {
  broken_ = std::move(why);
  return Step::broken;
}

PacketReader::Step PacketReader::header_of(std::span<const std::uint8_t> octets, Header& header) {
  if (octets.size() < 2) return Step::more;
  header.type = octets[0] >> 4;
  header.flags = octets[0] & 15;
  const auto lengths = octets.subspan(1, std::min<std::size_t>(4, octets.size() - 1));
  const auto last = std::ranges::find_if(lengths, [](std::uint8_t o) { return o < 0x80; });
  if (last == lengths.end()) {
    return lengths.size() < 4 ? Step::more : fail("the length of a packet does not end");
  }
  Cursor cursor{lengths};
  header.body_octets = cursor.variable();
  if (!cursor.good()) return fail("the length of a packet has needless octets");
  header.size = 1 + lengths.size() - cursor.left();
  return Step::packet;
}

PacketReader::Step PacketReader::oversize(const Header& header,
                                          std::span<const std::uint8_t> octets, std::size_t& used,
                                          const std::function<bool(const Packet&)>& take) {
  if (header.type != kPublish) {
    return fail("a " + name_of(header.type) + " of " + std::to_string(header.body_octets) +
                " octets");
  }
  const std::uint8_t qos = header.flags >> 1 & 3;
  Cursor cursor{octets.subspan(header.size)};
  const std::size_t head = 2U + cursor.two() + (qos > 0 ? 2U : 0U);
  if (!cursor.good() || octets.size() - header.size < head) return Step::more;
  Cursor again{octets.subspan(header.size)};
  Oversize message{.topic = std::string{again.text()},
                   .qos = qos,
                   .id = qos > 0 ? again.two() : std::uint16_t{0},
                   .octets = header.size + header.body_octets};
  if (!again.good() || qos > 1 || (qos == 1 && message.id == 0)) {
    return fail("a PUBLISH that does not keep to the standard");
  }
  used = header.size + head;
  skip_ = header.body_octets - head;
  return take(message) ? Step::packet : Step::stop;
}

PacketReader::Step PacketReader::next(std::span<const std::uint8_t> octets, std::size_t& used,
                                      const std::function<bool(const Packet&)>& take) {
  used = 0;
  if (skip_ > 0) {
    used = std::min(skip_, octets.size());
    skip_ -= used;
    return used > 0 ? Step::packet : Step::more;
  }
  Header header;
  const Step step = header_of(octets, header);
  if (step != Step::packet) return step;
  if (header.body_octets > kLargestPacket) return oversize(header, octets, used, take);
  if (octets.size() - header.size < header.body_octets) return Step::more;
  const auto packet = read_packet(header.type, header.flags,
                                  octets.subspan(header.size, header.body_octets), version_);
  if (!packet) return fail("a " + name_of(header.type) + " that does not keep to the standard");
  used = header.size + header.body_octets;
  return take(*packet) ? Step::packet : Step::stop;
}

std::optional<std::string> PacketReader::feed(std::span<const std::uint8_t> octets,
                                              const std::function<bool(const Packet&)>& take) {
  if (broken_) return broken_;
  const bool holding = !held_.empty();
  if (holding) held_.insert(held_.end(), octets.begin(), octets.end());
  const std::span<const std::uint8_t> all = holding ? std::span<const std::uint8_t>{held_} : octets;
  std::size_t done = 0;
  Step step = Step::packet;
  while (step == Step::packet && done < all.size()) {
    std::size_t used = 0;
    step = next(all.subspan(done), used, take);
    done += used;
  }
  const auto behind = static_cast<std::ptrdiff_t>(done);
  if (holding) {
    held_.erase(held_.begin(), held_.begin() + behind);
  } else {
    held_.assign(all.begin() + behind, all.end());
  }
  return broken_;
}

bool is_mqtt_text(std::string_view text) {
  return text.find('\0') == std::string_view::npos && wire::well_formed_size(text) == text.size();
}

namespace {

struct CodeWords {
  std::uint8_t code;
  std::string_view words;
};

constexpr std::array<CodeWords, 5> kWords311 = {{
    {1, "the broker does not speak this version of MQTT"},
    {2, "the broker does not accept this client id"},
    {3, "the broker is not available"},
    {4, "the broker does not accept the user name or the password"},
    {5, "the broker does not let this client in"},
}};

/// MQTT 5.0 table 2-6, those that a listener can meet.
constexpr std::array<CodeWords, 26> kWords5 = {{
    {0x00, "the broker ended the connection"},
    {0x80, "the broker refused without saying why"},
    {0x81, "the broker could not read what it was sent"},
    {0x82, "the broker says that the protocol was not kept"},
    {0x83, "the broker refused for a reason of its own"},
    {0x84, "the broker does not speak this version of MQTT"},
    {0x85, "the broker does not accept this client id"},
    {0x86, "the broker does not accept the user name or the password"},
    {0x87, "the broker does not let this client do that"},
    {0x88, "the broker is not available"},
    {0x89, "the broker is busy"},
    {0x8A, "the broker has banned this client"},
    {0x8B, "the broker is shutting down"},
    {0x8C, "the broker wants another way of authentication"},
    {0x8D, "the broker heard nothing for too long"},
    {0x8E, "another client took over the session: it uses the same client id"},
    {0x8F, "the broker does not accept this topic filter"},
    {0x93, "the broker says that it was sent more than it allows at once"},
    {0x95, "the broker was sent too large a packet"},
    {0x97, "a quota of the broker is used up"},
    {0x98, "the broker's administrator ended the connection"},
    {0x9C, "the broker wants another server to be used for now"},
    {0x9D, "the broker has moved to another server"},
    {0x9E, "the broker knows no shared subscriptions"},
    {0x9F, "the broker allows no more connections for now"},
    {0xA2, "the broker allows no wildcards in topic filters"},
}};

}  // namespace

std::string_view words_of(std::uint8_t code, Version version) {
  const std::span<const CodeWords> table =
      version == Version::v5 ? std::span<const CodeWords>{kWords5} : kWords311;
  const auto found =
      std::ranges::find_if(table, [&](const CodeWords& row) { return row.code == code; });
  return found == table.end() ? "the broker refused with a code of no known meaning" : found->words;
}

}  // namespace fieldfare::source::mqtt
