// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <deque>
#include <optional>
#include <span>
#include <unordered_map>

#include "fieldfare/source/mqtt_packets.h"

namespace fieldfare::source::mqtt {

/// Tells messages that come again from new ones, so that nothing is doubled.
///
/// QoS 1 promises "at least once": a message comes again where its
/// acknowledgement was lost, and in two ways. The broker sends it again under
/// the same packet identifier, marked DUP: then mark and flag must agree. And a
/// publisher that got no answer, as the broker was restarted, sends it to the
/// broker again, which passes it on as a new one: for a while after a
/// connection is made, a message that equals one from before it is taken for
/// such a repeat, once. "From before" are those that we remember, and those that
/// the broker had kept for us. Payloads of up to kShortest octets are left out
/// there, since two short readings in a row may well be equal and both be true.
/// A longer one without a counter or a time in it may be, too: then one hearing
/// per connection is lost for each that equals it, and reported as repeated.
class Repeats {
 public:
  /// Octets of payload up to which equality says nothing.
  static constexpr std::size_t kShortest = 8;

  /// `stored`: marks of an earlier run, oldest first.
  explicit Repeats(std::span<const std::uint64_t> stored);

  /// The identity of a message: 48 bits of a hash of topic and payload, then 16
  /// of its packet identifier. 0 with QoS 0, which never comes again.
  static std::uint64_t mark_of(const Publish& message);

  /// The ticket under which this message was handed over before, 0 where an
  /// earlier run did; nothing where it is new. `fresh`: the connection was made
  /// a short while ago.
  std::optional<std::uint64_t> earlier(const Publish& message, std::uint64_t mark, bool fresh);

  /// `kept`: the broker had it from before the connection.
  void remember(std::uint64_t mark, std::uint64_t ticket, bool kept);
  /// All up to `ticket` is stored, and may be forgotten when newer ones push it out.
  void settle(std::uint64_t ticket);
  /// A connection was made: what is remembered now is "from before".
  void begin_connection();

 private:
  struct Seen {
    std::uint64_t mark = 0;
    std::uint64_t ticket = 0;
  };

  void forget_old();

  std::deque<Seen> seen_;  ///< oldest first
  std::unordered_map<std::uint64_t, std::uint64_t> ticket_by_mark_;
  std::unordered_multimap<std::uint64_t, std::uint64_t> before_;  ///< tickets by hash
  std::uint64_t settled_ = 0;
};

}  // namespace fieldfare::source::mqtt
