// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/internal/framed.h"

namespace fieldfare::learn {

/// A counter of reports, and how well it explains the octets it takes.
struct CounterGuess {
  std::size_t at = 0;
  int octets = 1;
  fleet::ByteOrder order = fleet::ByteOrder::big;
  double bits = 0;           ///< saved against octets that only tend to stay as they are
  double bits_ahead = 0;     ///< of the best other width or order at this place; see `rival`
  std::size_t steps = 0;     ///< between two reports of a node
  std::size_t by_one = 0;    ///< of these, by one
  std::size_t forward = 0;   ///< by 2 to 255
  std::size_t restarts = 0;  ///< to a small number
  std::optional<std::uint64_t> starts_at;  ///< where restarts agree
  std::size_t starts_seen = 0;             ///< so many of them
  int rival_octets = 0;                    ///< 0: none
  fleet::ByteOrder rival_order = fleet::ByteOrder::big;
};

/// Searches octets that are not taken, in the first `length` of each frame. Frames
/// are in the order of their coming. Nothing where no place counts.
std::optional<CounterGuess> search_counter(std::span<const Framed> frames,
                                           std::span<const Taken> taken, std::size_t length);

/// Counts steps and restarts anew, and where restarts begin: provoked ones, where
/// there are any.
void count_steps(std::span<const Framed> frames, CounterGuess& guess);

/// True where the counter may have been restarted between these two reports of a node.
bool is_restart(const CounterGuess& counter, const fleet::Octets& before, const fleet::Octets& now);

/// The counter of a frame. Precondition: the frame is that long.
std::uint64_t count_in(const CounterGuess& counter, const fleet::Octets& octets);

/// Sets Framed::order: it rises through wraps and restarts.
void number_reports(const CounterGuess& counter, std::span<Framed> frames);

}  // namespace fieldfare::learn
