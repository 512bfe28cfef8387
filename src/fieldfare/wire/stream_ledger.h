// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <map>
#include <string>

namespace fieldfare::wire {

/// What became of everything that one source handed over; nothing is dropped
/// unsaid. balances() holds after every call of the decoder.
struct StreamLedger {
  using ByReason = std::map<std::string, std::uint64_t, std::less<>>;

  // bytes_fed == bytes_in_frames + bytes_lost + bytes_pending
  std::uint64_t bytes_fed = 0;
  std::uint64_t bytes_in_frames = 0;
  std::uint64_t bytes_lost = 0;
  std::uint64_t bytes_pending = 0;

  // frames == frames_read + frames_unread + frames_foreign
  std::uint64_t frames = 0;  ///< rows, where the source sends rows of a log
  std::uint64_t frames_read = 0;
  std::uint64_t frames_unread = 0;
  std::uint64_t frames_foreign = 0;  ///< other networks' traffic: counted, not kept
  ByReason unread_by_reason;         ///< adds up to frames_unread
  ByReason lost_by_reason;           ///< stretches of bytes, by reason

  // reports == hearings + reports_refused
  std::uint64_t reports = 0;
  std::uint64_t hearings = 0;
  std::uint64_t reports_refused = 0;  ///< no name to give, an impossible time

  bool balances() const;
  void add(const StreamLedger& other);
};

}  // namespace fieldfare::wire
