// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <vector>

#include "fieldfare/judge/verdict.h"

namespace fieldfare::render {

/// What stands in one place of a beat line.
enum class Mark : std::uint8_t {
  on_beat,  ///< heard within a twentieth of the interval of its beat
  early,    ///< heard earlier than that
  late,     ///< heard later than that
  missed,   ///< sent, as the counter tells, and heard by nobody
  deaf,     ///< likewise, while a receiver of this node heard nobody at all
  new_run,  ///< the first report after a reset, a jump of the counter, or a sleep
};

/// One mark, or many alike in a row.
struct Beat {
  Mark mark;
  std::uint64_t count = 1;
};

/// A node's last reports against their beats, oldest first: a beat for every
/// number of the counter between the first and the last report kept. The beat of
/// a report is where its neighbours (four on either side, of its run) say that it
/// should be: the median of time less number times interval.
std::vector<Beat> beats_of(const judge::NodeVerdict& node,
                           std::span<const evidence::ReceiverSilence> silences);

/// The newest of these beats in exactly `width` columns, the newest at the right.
/// A tick for every report, which leans to the side on which it fell; a dot for
/// every one missed, and `·23·` where that would be a long row of them.
std::string beat_line(std::span<const Beat> beats, std::size_t width, bool unicode);

/// What the marks mean, as one sentence.
std::string beat_legend(bool unicode);

}  // namespace fieldfare::render
