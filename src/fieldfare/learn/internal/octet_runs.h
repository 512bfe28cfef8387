// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/learn.h"

namespace fieldfare::learn {

/// Octets that belong together: a message, or a stretch of a stream.
struct Run {
  /// From this octet on, up to the next, all came at once.
  struct Noted {
    std::size_t from = 0;
    std::optional<Instant> at;
  };
  fleet::Octets octets;
  std::vector<Noted> noted;  ///< by `from`

  /// When the octet at this offset came. Precondition: it is in the run.
  std::optional<Instant> came_at(std::size_t offset) const;
  bool begins_arrival(std::size_t offset) const;
};

struct Runs {
  std::vector<Run> runs;
  bool whole = false;  ///< each is a message

  std::size_t octets() const;
  std::size_t arrivals() const;
};

/// What came as messages, or what came as a stream, whichever holds more octets. Of
/// more than `most` octets a share that is spread over the whole.
Runs runs_of(const Sample& sample, std::size_t most);

/// About `most` octets of it, spread over the whole; messages stay whole.
Runs share_of(const Runs& runs, std::size_t most);

}  // namespace fieldfare::learn
