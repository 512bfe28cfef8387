// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/mqtt_session.h"

#include <algorithm>
#include <utility>
#include <variant>

#include "fieldfare/wire/excerpt.h"

namespace fieldfare::source::mqtt {
namespace {

/// What waited at the broker begins to come at once ...
constexpr std::chrono::seconds kBacklogComesWithin{1};
/// ... and fills what is read at a time until it is through.
constexpr std::size_t kBacklogOctets = std::size_t{16} * 1024;
constexpr std::uint16_t kSubscribeId = 1;
constexpr std::uint8_t kMalformed = 0x81;
constexpr std::uint8_t kProtocolError = 0x82;

/// What the broker said, with its own words where it gave some.
std::string told(std::uint8_t code, Version version, const std::string& reason) {
  std::string text{words_of(code, version)};
  if (!reason.empty()) text += ": " + wire::excerpt(reason);
  return text;
}

bool is_any(std::uint8_t code, std::initializer_list<std::uint8_t> codes) {
  return std::ranges::find(codes, code) != codes.end();
}

/// Codes 1 to 5 are those of version 3.1.1.
std::string remedy_for(std::uint8_t code) {
  if (is_any(code, {4, 5, 0x86, 0x87, 0x8C})) {
    return "check user and password-file of the source, and whether the broker lets that user in";
  }
  if (is_any(code, {2, 0x85})) return "give the source another client-id";
  if (code == 0x8E) return "give each listener a client-id of its own";
  if (is_any(code, {0x8F, 0x9E, 0xA2})) return "give the source another topic filter";
  return "";
}

Trouble broken_protocol(const std::string& what) {
  return {.what = "the broker sent " + what, .remedy = "is this the port of an MQTT broker?"};
}

}  // namespace

Session::Session(std::string topic_filter, unsigned qos, Setting setting, Sink& sink)
    : topic_filter_{std::move(topic_filter)},
      qos_{qos},
      clock_{std::move(setting.clock)},
      sink_{sink},
      repeats_{setting.marks} {}

void Session::begin(Login login, Moment now) {
  end();
  version_ = login.version;
  reader_ = PacketReader{version_};
  pinged_at_ = now;
  append_connect(output_, {.version = version_,
                           .client_id = std::move(login.client_id),
                           .user = std::move(login.user),
                           .password = std::move(login.password),
                           .keep_alive_s = kKeepAliveSeconds,
                           .session_expiry_s = kSessionExpirySeconds,
                           .receive_maximum = kReceiveMaximum});
}

void Session::end() {
  output_.clear();
  owed_.clear();
  connected_ = false;
  subscribed_ = false;
  session_kept_ = false;
  ping_open_ = false;
  ping_every_ = kPingEvery;
}

std::optional<Trouble> Session::receive(std::span<const std::uint8_t> octets, Moment now) {
  std::optional<Trouble> trouble;
  const auto broken = reader_.feed(octets, [&](const Packet& packet) {
    if (!connected_ && !std::holds_alternative<ConnAck>(packet)) {
      trouble = broken_protocol("something else before it answered");
    } else {
      trouble = std::visit([&](const auto& value) { return on(value, now); }, packet);
    }
    return !trouble.has_value();
  });
  pay();
  received_since_tick_ = true;
  if (octets.size() < kBacklogOctets) end_draining(now);
  if (trouble) return trouble;
  if (broken) {
    if (connected_) append_disconnect(output_, kMalformed, version_);
    return broken_protocol(*broken);
  }
  return std::nullopt;
}

void Session::end_draining(Moment now) {
  if (now - connected_at_ >= kBacklogComesWithin) draining_ = false;
}

std::optional<Trouble> Session::tick(Moment now) {
  if (!connected_) return std::nullopt;
  if (!std::exchange(received_since_tick_, false) && !paused_) end_draining(now);
  if (paused_) {
    // Its answer stays unread: start anew once it can be heard.
    if (now - pinged_at_ < ping_every_) return std::nullopt;
    ping_open_ = false;
  } else if (ping_open_) {
    if (now - pinged_at_ < kPingAnswer) return std::nullopt;
    return Trouble{.what = "the broker stopped answering",
                   .remedy = "check the network and the broker's machine"};
  }
  if (now - pinged_at_ < ping_every_) return std::nullopt;
  append_pingreq(output_);
  pinged_at_ = now;
  ping_open_ = !paused_;
  return std::nullopt;
}

void Session::settle(std::uint64_t ticket) {
  settled_ = std::max(settled_, ticket);
  repeats_.settle(settled_);
  pay();
}

void Session::leave() {
  pay();
  if (connected_) append_disconnect(output_, 0, version_);
}

void Session::owe(std::uint64_t ticket, std::uint16_t id) {
  if (id != 0) owed_.push_back({ticket, id});
}

void Session::pay() {
  while (!owed_.empty() && owed_.front().ticket <= settled_) {
    append_puback(output_, owed_.front().id);
    owed_.pop_front();
  }
}

bool Session::fresh(Moment now) const { return now - connected_at_ < kFresh; }

bool Session::maybe_kept(Moment now) const {
  return session_kept_ && now - connected_at_ < kKeptComesWithin;
}

std::optional<Trouble> Session::on(const ConnAck& ack, Moment now) {
  if (connected_) return broken_protocol("a second CONNACK");
  if (ack.code != 0) {
    // A broker without version 5 answers as version 3.1.1 does.
    const bool old = ack.code < 0x80;
    return Trouble{.what = told(ack.code, old ? Version::v3_1_1 : version_, ack.reason),
                   .remedy = remedy_for(ack.code),
                   .version_refused = version_ == Version::v5 && is_any(ack.code, {1, 0x84})};
  }
  connected_ = true;
  connected_at_ = now;
  session_kept_ = ack.session_present;
  draining_ = session_kept_;
  if (ack.keep_alive_s.value_or(0) > 0) {
    ping_every_ = std::min<std::chrono::milliseconds>(
        kPingEvery, std::chrono::milliseconds{*ack.keep_alive_s * 500});
  }
  repeats_.begin_connection();
  // Also in a session that was kept: the broker may have lost the subscription
  // alone, and the QoS may have been changed.
  const unsigned qos = std::min<unsigned>(qos_, ack.maximum_qos.value_or(1));
  append_subscribe(
      output_, {.id = kSubscribeId, .filter = topic_filter_, .qos = static_cast<std::uint8_t>(qos)},
      version_);
  return std::nullopt;
}

std::optional<Trouble> Session::on(const SubAck& ack, Moment) {
  if (ack.id != kSubscribeId || subscribed_) return broken_protocol("a SUBACK not asked for");
  if (ack.code >= 0x80) {
    std::string remedy = remedy_for(ack.code);
    if (remedy.empty() || ack.code == 0x87) {
      remedy = "have the broker's access list let this user read these topics";
    }
    return Trouble{.what = "the topics '" + wire::excerpt(topic_filter_) +
                           "' are refused: " + told(ack.code, Version::v5, ack.reason),
                   .remedy = std::move(remedy)};
  }
  if (ack.code > 1) return broken_protocol("a SUBACK with more than was asked for");
  subscribed_ = true;
  granted_qos_ = ack.code;
  return std::nullopt;
}

std::optional<Trouble> Session::on(const Publish& message, Moment now) {
  const std::size_t octets = message.payload.size();
  if (message.retain) {
    ++retained_;
    owe(last_ticket_, message.id);
    return std::nullopt;
  }
  const std::uint64_t mark = Repeats::mark_of(message);
  if (const auto earlier = repeats_.earlier(message, mark, fresh(now))) {
    owe(*earlier, message.id);
    sink_.repeated(clock_(), octets);
    return std::nullopt;
  }
  const std::uint64_t ticket = ++last_ticket_;
  if (mark != 0) repeats_.remember(mark, ticket, maybe_kept(now));
  owe(ticket, message.id);
  sink_.take({.at = clock_(),
              .octets = message.payload,
              .whole = true,
              .topic = message.topic,
              .held_back = draining_,
              .ticket = ticket,
              .mark = mark});
  return std::nullopt;
}

std::optional<Trouble> Session::on(const Oversize& message, Moment) {
  owe(last_ticket_, message.id);
  sink_.overrun(clock_(), "a message of " + std::to_string(message.octets) + " octets on '" +
                              wire::excerpt(message.topic) +
                              "' was left out: more than 1 MiB is no hearing");
  return std::nullopt;
}

std::optional<Trouble> Session::on(const PubAck&, Moment) {
  append_disconnect(output_, kProtocolError, version_);
  return broken_protocol("an acknowledgement of what was never sent");
}

std::optional<Trouble> Session::on(const PingResp&, Moment) {
  ping_open_ = false;
  return std::nullopt;
}

std::optional<Trouble> Session::on(const Disconnect& disconnect, Moment) {
  return Trouble{.what = told(disconnect.code, version_, disconnect.reason),
                 .remedy = remedy_for(disconnect.code)};
}

}  // namespace fieldfare::source::mqtt
