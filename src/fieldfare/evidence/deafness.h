// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <span>
#include <vector>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/hearing.h"

namespace fieldfare::evidence {

/// A stretch in which nobody listened to a receiver: the program didn't run, the
/// port was unplugged, the broker was gone.
struct Deafness {
  fleet::ReceiverIndex receiver{};
  Instant from;
  Instant to;
};

/// All that is known of such stretches, by receiver and ascending; those of one
/// receiver neither overlap nor touch.
class KnownDeafness {
 public:
  KnownDeafness() = default;
  explicit KnownDeafness(std::vector<Deafness> stretches);

  bool empty() const { return stretches_.empty(); }
  std::span<const Deafness> all() const { return stretches_; }

  /// The receiver's stretches that overlap the time between.
  std::span<const Deafness> of(fleet::ReceiverIndex receiver, Instant from, Instant to) const;

  /// How much of the time between the receiver was deaf.
  Duration within(fleet::ReceiverIndex receiver, Instant from, Instant to) const;

 private:
  std::vector<Deafness> stretches_;
};

}  // namespace fieldfare::evidence
