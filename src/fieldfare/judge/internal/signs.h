// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "fieldfare/judge/first_beat.h"
#include "fieldfare/judge/first_day.h"

namespace fieldfare::judge::internal {

/// What shows that a report was provoked; the surest first.
enum class Sign : std::uint8_t {
  restart,      ///< its counter is back at its start
  fresh,        ///< the first of its address, with a number as after a start
  first,        ///< the first of its address
  extra,        ///< ahead of its beat
  only_asked,   ///< the node speaks when it is provoked, and at no other time
  maybe_a_beat  ///< nothing but its time: no proof
};

/// What a report shows by itself, `only_asked` left out.
Sign sign_of(const FirstNode& node, const FirstBeat& beat, std::size_t report);

/// A report that shows a sign, `extra` or surer.
struct Shown {
  Instant at;
  std::size_t node;
  std::size_t report;
  Sign sign;
};

/// All of a day, by time.
std::vector<Shown> signs_of(const FirstDay& day, std::span<const FirstBeat> beats);

/// How often every node began anew or spoke ahead of its beat though nobody provoked
/// anything at all.
std::vector<std::size_t> unasked_signs(const FirstDay& day, std::span<const Shown> signs);

}  // namespace fieldfare::judge::internal
