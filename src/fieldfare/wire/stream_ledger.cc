// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/wire/stream_ledger.h"

namespace fieldfare::wire {
namespace {

std::uint64_t sum(const StreamLedger::ByReason& counts) {
  std::uint64_t total = 0;
  for (const auto& [reason, count] : counts) total += count;
  return total;
}

void add_counts(StreamLedger::ByReason& to, const StreamLedger::ByReason& from) {
  for (const auto& [reason, count] : from) to[reason] += count;
}

}  // namespace

bool StreamLedger::balances() const {
  return bytes_fed == bytes_in_frames + bytes_lost + bytes_pending &&
         frames == frames_read + frames_unread + frames_foreign &&
         frames_unread == sum(unread_by_reason) && reports == hearings + reports_refused;
}

void StreamLedger::add(const StreamLedger& other) {
  bytes_fed += other.bytes_fed;
  bytes_in_frames += other.bytes_in_frames;
  bytes_lost += other.bytes_lost;
  bytes_pending += other.bytes_pending;
  frames += other.frames;
  frames_read += other.frames_read;
  frames_unread += other.frames_unread;
  frames_foreign += other.frames_foreign;
  reports += other.reports;
  hearings += other.hearings;
  reports_refused += other.reports_refused;
  add_counts(unread_by_reason, other.unread_by_reason);
  add_counts(lost_by_reason, other.lost_by_reason);
}

}  // namespace fieldfare::wire
