// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <chrono>
#include <deque>
#include <optional>
#include <span>
#include <string>
#include <utility>

#include "fieldfare/source/internal/mqtt_repeats.h"
#include "fieldfare/source/mqtt_packets.h"
#include "fieldfare/source/source.h"

namespace fieldfare::source::mqtt {

/// A moment of a clock that nobody sets.
using Moment = std::chrono::steady_clock::time_point;

/// Why a connection had to end or could not be made.
struct Trouble {
  std::string what;
  std::string remedy;
  bool version_refused = false;
  bool unanswered = false;  ///< hung up before it said anything
};

/// For how long the broker is asked to keep what comes in while we are away.
inline constexpr std::uint32_t kSessionExpirySeconds = 7 * 24 * 3600;
/// Messages that may be under way at once; fewer than the marks that are kept,
/// so that each that comes again is known.
inline constexpr std::uint16_t kReceiveMaximum = 1000;
static_assert(kReceiveMaximum < kMostMarks);

inline constexpr std::uint16_t kKeepAliveSeconds = 30;
inline constexpr std::chrono::seconds kPingEvery{10};
inline constexpr std::chrono::seconds kPingAnswer{10};
/// For how long after a connection was made equal messages are repeats.
inline constexpr std::chrono::seconds kFresh{60};
/// A broker sends what it kept for us at once; what comes later is new.
inline constexpr std::chrono::seconds kKeptComesWithin{10};

/// How one who listens talks with a broker, over one connection after another:
/// octets in, octets out, arrivals to the sink. Knows no network; the moments
/// come from the caller.
///
/// A message is acknowledged once its ticket is settled, in the order in which
/// the messages came. Acknowledgements of a connection that is gone are not
/// sent: the broker sends the message again, and Repeats knows it.
///
/// Retained messages (those that a broker keeps to show newcomers the last value)
/// are acknowledged, counted and left out: nothing tells how old they are, and a
/// hearing needs its time. Version 5 asks the broker not to send them.
class Session {
 public:
  struct Login {
    Version version = Version::v5;
    std::string client_id;
    std::optional<std::string> user;
    std::optional<std::string> password;
  };

  /// `sink` must outlive the session.
  Session(std::string topic_filter, unsigned qos, Setting setting, Sink& sink);

  /// A connection is there: greets the broker.
  void begin(Login login, Moment now);
  /// The connection is gone.
  void end();

  std::optional<Trouble> receive(std::span<const std::uint8_t> octets, Moment now);
  /// To be called a few times a second.
  std::optional<Trouble> tick(Moment now);
  /// All up to this ticket is stored.
  void settle(std::uint64_t ticket);
  /// Nothing is read now, not even answers to pings.
  void set_paused(bool paused) {
    paused_ = paused;
    ping_open_ = false;  // its answer may wait to be read
  }
  /// Says good-bye, so that the broker doesn't take it for a failure.
  void leave();

  /// What is to be sent; empty afterwards.
  Octets take_output() { return std::exchange(output_, {}); }
  bool has_output() const { return !output_.empty(); }

  /// The broker let us in.
  bool connected() const { return connected_; }
  /// The broker took our subscription.
  bool subscribed() const { return subscribed_; }
  /// The broker still had our session: what came while we were away follows.
  bool session_kept() const { return session_kept_; }
  /// Fewer than what was asked for: the broker or the subscription grants no more.
  unsigned granted_qos() const { return granted_qos_; }
  /// Retained messages left out since the last call.
  std::uint64_t take_retained() { return std::exchange(retained_, 0); }

 private:
  struct Owed {
    std::uint64_t ticket = 0;
    std::uint16_t id = 0;
  };

  std::optional<Trouble> on(const ConnAck& ack, Moment now);
  std::optional<Trouble> on(const SubAck& ack, Moment now);
  std::optional<Trouble> on(const Publish& message, Moment now);
  std::optional<Trouble> on(const Oversize& message, Moment now);
  std::optional<Trouble> on(const PubAck& ack, Moment now);
  std::optional<Trouble> on(const PingResp& answer, Moment now);
  std::optional<Trouble> on(const Disconnect& disconnect, Moment now);
  void owe(std::uint64_t ticket, std::uint16_t id);
  void pay();
  bool fresh(Moment now) const;
  void end_draining(Moment now);
  bool maybe_kept(Moment now) const;

  std::string topic_filter_;
  unsigned qos_;
  Clock clock_;
  Sink& sink_;
  Repeats repeats_;
  std::uint64_t last_ticket_ = 0;
  std::uint64_t settled_ = 0;
  std::uint64_t retained_ = 0;
  bool paused_ = false;

  // Of the connection:
  Version version_ = Version::v5;
  PacketReader reader_{Version::v5};
  Octets output_;
  std::deque<Owed> owed_;
  bool connected_ = false;
  bool subscribed_ = false;
  bool session_kept_ = false;
  /// What the broker kept for us comes before what is new; until it is through,
  /// arrivals don't tell when their messages were sent.
  bool draining_ = false;
  bool received_since_tick_ = false;
  unsigned granted_qos_ = 0;
  Moment connected_at_;
  Moment pinged_at_;
  bool ping_open_ = false;
  std::chrono::milliseconds ping_every_ = kPingEvery;
};

}  // namespace fieldfare::source::mqtt
