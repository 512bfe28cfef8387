// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <functional>
#include <span>
#include <vector>

#include "fieldfare/fleet/frame.h"
#include "fieldfare/learn/internal/framed.h"
#include "fieldfare/learn/internal/report_series.h"

namespace fieldfare::learn {

/// A stretch of octets that is one thing in all frames.
struct Piece {
  enum class Kind : std::uint8_t { constant, node_constant, noise, number };

  Kind kind = Kind::constant;
  std::size_t from = 0;
  std::size_t to = 0;
  fleet::NumberForm form = {};  ///< of a number
  bool around_mean = false;     ///< of a number: noise around a mean of each node
  double margin_bits = 0;       ///< of a number: by how much longer the best cut is that has
                                ///< no number of this width and order here
  double sign_bits = 0;         ///< of an integer: by how much longer it is with the other sign
};

/// What speaks for a number at some octets, in bits: it agrees with an instrument.
using Support = std::function<double(std::size_t at, const fleet::NumberForm& form)>;

/// The cut of all octets that aren't taken into pieces that takes the fewest bits.
/// Runs of constants, and of noise, are one piece each. Precondition: there are frames.
std::vector<Piece> cut_into_pieces(const ReportSeries& series, std::span<const Taken> taken,
                                   const Support& support);

}  // namespace fieldfare::learn
