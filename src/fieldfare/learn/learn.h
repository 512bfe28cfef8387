// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "fieldfare/base/instant.h"
#include "fieldfare/fleet/frame.h"
#include "fieldfare/fleet/sheet.h"

// From bytes that nobody has described to a sheet: what is certain, what is
// guessed and how surely, and what would decide the rest.
namespace fieldfare::learn {

/// Bytes as they reached us: a stretch of a stream, or a message whole in itself.
struct Arrival {
  std::optional<Instant> at;  ///< absent where nobody noted it
  fleet::Octets octets;
  bool whole = false;  ///< a datagram or a message of a broker
  std::string topic = {};
};

/// Somebody caused a report by hand: pressed the node's button or restarted it.
struct Provoked {
  Instant at;          ///< when it was said; the report may have come a little before
  std::string digits;  ///< last digits of the node's label, upper-case hex; may be empty
};

/// What an instrument beside a node said: `temperature_c` is 21.4.
struct InstrumentValue {
  std::string field;  ///< the reading's name, ending in its unit
  double value = 0;
  double tolerance = 0;            ///< largest error of either sign, in that unit, over 0
  std::optional<Instant> at = {};  ///< absent: all the time
  std::string digits = {};         ///< of the node's label; empty: of whichever agrees
};

/// All there is to learn from. Arrivals are in the order of their coming.
struct Sample {
  std::vector<Arrival> arrivals;
  std::vector<std::string> labels;  ///< last digits of labels, upper-case hex, or decimal
  std::vector<Provoked> provoked;
  std::vector<InstrumentValue> values;
};

enum class Sureness : std::uint8_t {
  certain,  ///< chance would do this less than once in a million samples like this one
  likely,   ///< less than once in a hundred
  guess,    ///< the best there is, and no more
  open,     ///< the evidence doesn't carry an answer
};

/// One thing that was found, or that could not be.
struct Finding {
  /// Stable code: `framing`, `length`, `check`, `address`, `counter`, `header`,
  /// `network`, `signal`, `time`, `field`, `body`, `kinds`.
  std::string part;
  Sureness sureness = Sureness::open;
  std::string what;          ///< one sentence, with the numbers that made it
  std::string decides = {};  ///< which further report or value would decide; may be empty
  std::optional<std::size_t> field = {};  ///< index in Learnt::frame's fields
};

/// A stretch of the example frame: octets from `from` up to, without, `to`.
struct Mark {
  std::size_t from = 0;
  std::size_t to = 0;
  std::string what;
};

/// What a sample taught.
struct Learnt {
  std::optional<fleet::FrameFacts> frame;  ///< faults_of() it is empty; absent: not even frames
  fleet::SequenceFacts sequence;
  std::vector<fleet::FieldFacts> fields;  ///< what is known of readings beyond their place
  std::vector<Finding> findings;          ///< in the order of the parts above
  fleet::Octets example;                  ///< one sound frame, as the framing hands it on
  std::vector<Mark> marks;                ///< its fields, in the order of octets
  std::vector<std::string> nodes;         ///< addresses or names seen, as hearings will call them
  std::size_t frames = 0;                 ///< that were cut from the bytes
  std::size_t sound = 0;                  ///< of these, those that hold to all that was found
  bool opaque_body = false;               ///< looks enciphered: no reading can be told from it
};

/// Learns a sheet. Pure: the same sample gives the same answer. Any bytes are
/// allowed. Takes at most about 2 s for 10,000 frames; of more it reads a share
/// that is spread over the whole.
///
/// It refuses to guess what the evidence doesn't carry: where two descriptions
/// explain the frames equally well, neither is called likely, and `decides` says
/// what would tell them apart.
Learnt learn(const Sample& sample);

}  // namespace fieldfare::learn
