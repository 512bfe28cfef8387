// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <span>

#include "fieldfare/learn/internal/pieces.h"
#include "fieldfare/learn/internal/report_series.h"

namespace fieldfare::learn {

/// How many octets of the frame look like chance, where nothing but they and constants is
/// left: enciphered or compressed. 0 where there is a number, or where they are fewer than
/// four or not like chance: each bit set in half of the frames, and each changing from one
/// report to the next half of the time, as far as their numbers let expect (chi-squared,
/// three standard deviations).
std::size_t opaque_octets(const ReportSeries& series, std::span<const Piece> pieces);

}  // namespace fieldfare::learn
