// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <compare>
#include <cstdint>
#include <string_view>
#include <tuple>

namespace fieldfare::evidence {

/// A hearing packed for folding, 32 bytes, ordered canonically: by time, then
/// counter, then receiver, then the rest. The order doesn't depend on when or
/// in which file a hearing came in, so neither does the fold.
///
/// Where a clock is too coarse to tell two reports apart the higher number comes
/// first: the lower one is then a late report, which changes nothing, or the
/// first after a reset, which the other order would hide. Of a batch, whose reports
/// all have the time of their delivery, the lower number comes first: most often
/// that is the order in which they were sent.
struct Entry {
  std::int64_t time_ns = 0;
  std::uint32_t sequence = 0;
  std::uint32_t receiver_hash = 0;  ///< of the receiver's name: orders ties alike in every run
  std::int32_t supply_uv = 0;
  std::uint32_t receiver = 0;  ///< index of this run
  std::int16_t rssi_centidbm = 0;
  std::uint8_t has = 0;  ///< bits of Has

  enum Has : std::uint8_t {
    kSequence = 1,
    kRssi = 2,
    kSupply = 4,
    kImplausible = 8,
    /// The counter sent doesn't fit 32 bits or the counter's width.
    kImpossibleSequence = 16,
    /// Delivered with others of its node: the time says nothing about the beat.
    kBatched = 32,
    /// Caused by hand: a report like others, but off the beat.
    kProvoked = 64,
  };

  bool is(Has bit) const { return (has & bit) != 0; }

  friend auto operator<=>(const Entry& a, const Entry& b) { return a.key() <=> b.key(); }
  friend bool operator==(const Entry& a, const Entry& b) { return a.key() == b.key(); }

  template <class Archive>
  void visit(Archive& archive) {
    archive(time_ns, sequence, receiver_hash, supply_uv, rssi_centidbm, has);
    archive.receiver(receiver);
  }

 private:
  std::tuple<std::int64_t, std::uint32_t, std::uint32_t, std::int16_t, std::uint8_t, std::int32_t>
  key() const {
    const std::uint32_t order = is(kBatched) ? sequence : ~sequence;
    return {time_ns, order, receiver_hash, rssi_centidbm, has, supply_uv};
  }
};
static_assert(sizeof(Entry) == 32);

}  // namespace fieldfare::evidence
