// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <map>
#include <utility>

#include "fieldfare/wire/mac_frame.h"

namespace fieldfare::wire {

/// Whom one sender speaks to. A node that reports speaks to one listener; who
/// serves a network numbers its frames to all of them with one counter, and a
/// capture of some of them shows numbers missing that are no losses.
class Listeners {
 public:
  void count(const MacHeader& header);

  /// True where frames went to several: to different nodes, or to one and to all.
  /// Depends on the set of frames alone, not on their order.
  bool several() const;

 private:
  static constexpr std::size_t kMost = 64;  ///< told apart; more are several anyway

  std::map<std::pair<std::uint64_t, std::uint8_t>, std::uint64_t> frames_;  ///< by address, digits
  std::uint64_t others_ = 0;  ///< frames to further ones
  bool network_zero_ = false;
};

}  // namespace fieldfare::wire
