// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/frame.h"

namespace fieldfare::learn {

/// A frame whose check, address and counter are known, as far as there are any.
struct Framed {
  std::optional<Instant> at;
  fleet::Octets octets;              ///< as the framing hands them on
  std::size_t node = 0;              ///< number of its node, from 0
  std::optional<std::size_t> order;  ///< of its report among those of the node: rises with time;
                                     ///< absent where nothing tells
  bool provoked = false;
};

/// A stretch of octets of a frame that is spoken for: start, length, check,
/// address, counter.
struct Taken {
  std::size_t from = 0;
  std::size_t to = 0;
};

}  // namespace fieldfare::learn
