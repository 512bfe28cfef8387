// SPDX-License-Identifier: Apache-2.0
#include "fieldfare/source/internal/mqtt_repeats.h"

#include <algorithm>

#include "fieldfare/source/source.h"

namespace fieldfare::source::mqtt {
namespace {

constexpr unsigned kIdBits = 16;

/// FNV-1a of 64 bits, stirred at the end so that all bits of its upper 48 depend
/// on the last octets too.
class Hash {
 public:
  void add(std::uint8_t octet) { value_ = (value_ ^ octet) * 0x100'0000'01B3; }
  std::uint64_t upper48() const {
    std::uint64_t stirred = (value_ ^ value_ >> 33) * 0xFF51'AFD7'ED55'8CCD;
    stirred ^= stirred >> 33;
    return stirred >> kIdBits;
  }

 private:
  std::uint64_t value_ = 0xCBF2'9CE4'8422'2325;
};

}  // namespace

Repeats::Repeats(std::span<const std::uint64_t> stored) {
  for (const std::uint64_t mark : stored) {
    if (mark != 0) remember(mark, 0, false);
  }
}

std::uint64_t Repeats::mark_of(const Publish& message) {
  if (message.qos == 0) return 0;
  Hash hash;
  for (const char c : message.topic) hash.add(static_cast<std::uint8_t>(c));
  hash.add(0);  // no topic holds it
  for (const std::uint8_t octet : message.payload) hash.add(octet);
  return hash.upper48() << kIdBits | message.id;
}

std::optional<std::uint64_t> Repeats::earlier(const Publish& message, std::uint64_t mark,
                                              bool fresh) {
  if (mark == 0) return std::nullopt;
  if (message.dup) {
    const auto found = ticket_by_mark_.find(mark);
    if (found == ticket_by_mark_.end()) return std::nullopt;
    // It may still come as a new one as well: its publisher had no answer either.
    return found->second;
  }
  if (!fresh || message.payload.size() <= kShortest) return std::nullopt;
  const auto found = before_.find(mark >> kIdBits);
  if (found == before_.end()) return std::nullopt;
  const std::uint64_t ticket = found->second;
  before_.erase(found);
  return ticket;
}

void Repeats::remember(std::uint64_t mark, std::uint64_t ticket, bool kept) {
  if (kept) before_.emplace(mark >> kIdBits, ticket);
  seen_.push_back({mark, ticket});
  ticket_by_mark_[mark] = ticket;
  forget_old();
}

void Repeats::settle(std::uint64_t ticket) {
  settled_ = std::max(settled_, ticket);
  forget_old();
}

void Repeats::begin_connection() {
  before_.clear();
  for (const Seen& seen : seen_) before_.emplace(seen.mark >> kIdBits, seen.ticket);
}

void Repeats::forget_old() {
  while (seen_.size() > kMostMarks && seen_.front().ticket <= settled_) {
    const Seen old = seen_.front();
    seen_.pop_front();
    const auto found = ticket_by_mark_.find(old.mark);
    // A newer message may have the same mark.
    if (found != ticket_by_mark_.end() && found->second == old.ticket) ticket_by_mark_.erase(found);
  }
}

}  // namespace fieldfare::source::mqtt
